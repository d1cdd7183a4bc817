import { code, tests } from '../places.js';
import { type Subject, test } from '../rule.js';

/** The bytes that are heard, and every range of them. */
export const sound: Subject = {
  name: 'sound',
  rules: [
    {
      id: 'A1',
      sentence: 'A file is whole legal frames, and its seek header states how many, and their bytes.',
      source: 'ISO 13818-3 through open implementations; the tag’s public descriptions.',
      tests: [test(tests.sessionAudio)],
      faults: [
        {
          what: 'a frame is cut off at the start of each sound',
          file: code.sessionAudio,
          fragment: 'const cutBefore = Math.max(0, -segment.firstFrame);',
          planted: 'const cutBefore = Math.max(1, -segment.firstFrame);',
        },
        {
          what: 'the header counts itself out',
          file: code.seekHeader,
          fragment: 'const fileBytes = seekHeaderBytes + facts.byteCount;',
          planted: 'const fileBytes = facts.byteCount;',
        },
        {
          what: 'the checksum of one piece is forgotten',
          file: code.sessionAudio,
          fragment: 'crc = joinCrc16(crc, pieceCrc16, piece.lengthBytes);',
          planted: 'crc = joinCrc16(crc, pieceCrc16, piece.lengthBytes + 1);',
        },
        {
          what: 'silence one frame short',
          file: code.sessionAudio,
          fragment: 'const frameCount = endFrame - frame;',
          planted: 'const frameCount = endFrame - frame - 1;',
        },
      ],
    },
    {
      id: 'A4',
      sentence: 'Soft sounds are at least 20 dB under speech.',
      source: 'WCAG 2.2, success criterion 1.4.7.',
      tests: [test(tests.softSounds)],
      faults: [
        {
          what: '6 dB louder',
          file: code.softLevel,
          fragment: 'const gain = 10 ** ((lufs - loudest) / 20);',
          planted: 'const gain = 2 * 10 ** ((lufs - loudest) / 20);',
        },
      ],
    },
    {
      id: 'RANGE-1',
      sentence: 'Any range of a session is the same bytes as in the whole file.',
      source: 'RFC 9110, section 14.',
      tests: [test(tests.sessionAudio, 'serves any range')],
      faults: [
        {
          what: 'a range never begins with the first byte',
          file: code.sessionAudio,
          fragment: 'const from = Math.max(0, Math.min(start, this.byteLength));',
          planted: 'const from = Math.max(1, Math.min(start, this.byteLength));',
        },
        {
          what: 'silence begins with a whole frame',
          file: code.sessionAudio,
          fragment: 'const phase = from % silentFrame.length;',
          planted: 'const phase = 0 * from;',
        },
        {
          what: 'silence goes on behind its end',
          file: code.sessionAudio,
          fragment: 'Math.min(silence.length, phase + to - from)',
          planted: 'silence.length',
        },
      ],
    },
    {
      id: 'RANGE-2',
      sentence:
        'A range that is asked for by HTTP is answered with exactly its bytes, or 416 where there is none.',
      source: 'RFC 9110, sections 14.1 to 14.4 and 15.5.17.',
      tests: [
        test(tests.service, 'can be heard in any byte range'),
        test(tests.listeningSound, 'is given in any byte range'),
        test(tests.sendFile),
      ],
      faults: [
        {
          what: 'the last byte is left out',
          file: code.audioRange,
          fragment: 'return send(response, audio, part.start, part.end + 1);',
          planted: 'return send(response, audio, part.start, part.end);',
          tests: [test(tests.service, 'can be heard in any byte range')],
        },
        {
          what: 'no such range is answered with the whole',
          file: code.audioRange,
          fragment: 'if (range === -1) {',
          planted: 'if (range === -3) {',
          tests: [test(tests.service, 'can be heard in any byte range')],
        },
        {
          what: 'one byte too few is sent',
          file: code.sendFile,
          fragment: "response.set('content-length', String(last - first + 1));",
          planted: "response.set('content-length', String(last - first));",
          tests: [test(tests.sendFile)],
        },
        {
          what: 'the validator of other bytes is taken',
          file: code.sendFile,
          fragment: 'if (condition !== undefined && condition !== etag) return whole;',
          planted: '',
          tests: [test(tests.sendFile)],
        },
        {
          what: 'several parts are answered with the first',
          file: code.sendFile,
          fragment: 'if (range === undefined || others.length > 0) return whole;',
          planted: 'if (range === undefined || others.length > 9) return whole;',
          tests: [test(tests.sendFile)],
        },
        {
          what: 'no such part is answered with the whole',
          file: code.sendFile,
          fragment: 'if (ranges === -1) return null;',
          planted: 'if (ranges === -1) return whole;',
          tests: [test(tests.sendFile)],
        },
      ],
    },
    {
      id: 'RANGE-3',
      sentence: 'The phone reads ranges of a kept sound as the RFC has them.',
      source: 'RFC 9110, section 14.1.2, with its examples.',
      tests: [test(tests.worker)],
      faults: [
        {
          what: 'the last byte is left out',
          file: code.ranges,
          fragment: "last: last === '' ? byteLength - 1 : Math.min(Number(last), byteLength - 1),",
          planted: "last: last === '' ? byteLength - 2 : Math.min(Number(last), byteLength - 1),",
        },
        {
          what: 'behind the file',
          file: code.ranges,
          fragment: "if (Number(first) >= byteLength) return 'unsatisfiable';",
          planted: "if (Number(first) > byteLength) return 'unsatisfiable';",
        },
        {
          what: 'a suffix counts from the start',
          file: code.ranges,
          fragment: '{ first: byteLength - length, last: byteLength - 1 };',
          planted: '{ first: 0, last: length - 1 };',
        },
        {
          what: 'a range turned round is none',
          file: code.ranges,
          fragment: "if (last !== '' && Number(last) < Number(first)) return null;",
          planted: "if (last !== '' && Number(last) <= Number(first)) return null;",
        },
        {
          what: 'a range may end behind the file',
          file: code.ranges,
          fragment: 'Math.min(Number(last), byteLength - 1),',
          planted: 'Number(last),',
        },
      ],
    },
    {
      id: 'PLAY-1',
      sentence:
        'After a pause of more than five seconds it goes on between two repetitions, never in the middle of one.',
      source: 'Our choice, no source.',
      tests: [test(tests.resume)],
      faults: [
        {
          what: 'the place after the one that is safe',
          file: code.resume,
          fragment: '(point <= positionMs && point > last ? point : last)',
          planted: '(point < positionMs && point > last ? point : last)',
        },
        {
          what: 'six seconds',
          file: code.resume,
          fragment: 'export const longPauseMs = 5_000;',
          planted: 'export const longPauseMs = 6_000;',
        },
        {
          what: 'a pause that nobody measured counts as short',
          file: code.resume,
          fragment: 'if (pausedForMs !== null && pausedForMs <= longPauseMs)',
          planted: 'if (pausedForMs === null || pausedForMs <= longPauseMs)',
        },
      ],
    },
    {
      id: 'PLAY-2',
      sentence: 'A session is done when it was finished, or nine tenths of it were really heard.',
      source: 'Our choice, no source.',
      tests: [test(tests.listened)],
      faults: [
        {
          what: 'eight tenths',
          file: code.listened,
          fragment: 'const donePart = 0.9;',
          planted: 'const donePart = 0.8;',
        },
        {
          what: 'what was skipped counts as heard',
          file: code.listened,
          fragment: 'heardMs += Math.min(playedMs, step.atMs - from.atMs + clockSlackMs);',
          planted: 'heardMs += playedMs;',
        },
        {
          what: 'nine tenths are not enough',
          file: code.listened,
          fragment: 'listened.heardMs >= donePart * durationMs;',
          planted: 'listened.heardMs > donePart * durationMs;',
        },
      ],
    },
  ],
};
