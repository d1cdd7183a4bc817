import { code, tests } from '../places.js';
import { type Subject, test } from '../rule.js';

const invariant = (name: string) => test(tests.invariants, name);

/** What the listener is guided to do, and when. */
export const script: Subject = {
  name: 'script',
  rules: [
    {
      id: 'S1',
      sentence: 'The dose that is heard equals the dose that is prescribed: each repetition once, in order.',
      source: 'Our choice: the dose is the clinician’s.',
      tests: [invariant('S1:')],
      faults: [
        {
          what: 'the right side is done first',
          file: code.repetitions,
          fragment: "choice === 'both' ? ['left', 'right'] : [choice]",
          planted: "choice === 'both' ? ['right', 'left'] : [choice]",
        },
        {
          what: 'one repetition more',
          file: code.repetitions,
          fragment: 'Array.from({ length: count }, (_, index) => index + 1)',
          planted: 'Array.from({ length: count + 1 }, (_, index) => index + 1)',
        },
      ],
    },
    {
      id: 'S2',
      sentence: 'A hold of n seconds lasts n x 1000 ms, and its counts are whole seconds from its start.',
      source: 'Our choice: a count is a second.',
      tests: [invariant('S2:'), test(tests.countForms)],
      faults: [
        {
          what: 'counts 990 ms apart',
          file: code.hold,
          fragment: 'atMs: second * 1000,',
          planted: 'atMs: second * 990,',
        },
        {
          what: 'the release comes a second late',
          file: code.hold,
          fragment: 'atMs: holdSeconds * 1000,',
          planted: 'atMs: (holdSeconds + 1) * 1000,',
          tests: [invariant('S1:')],
        },
        {
          what: 'counting down begins one too low',
          file: code.hold,
          fragment: '? holdSeconds - second :',
          planted: '? holdSeconds - second - 1 :',
        },
      ],
    },
    {
      id: 'S3',
      sentence: 'A beat lies where its word is heard, not where the file starts.',
      source: 'Morton, Marcus and Frankish 1976, Psychol Rev 83:405.',
      tests: [invariant('S3:')],
      faults: [
        {
          what: 'words start on the beat',
          file: code.timeline,
          fragment: "return beat.alignBy === 'onset' ? 0 : timeline.measure(text).beatOffsetMs;",
          planted: 'return 0 * timeline.measure(text).beatOffsetMs;',
        },
      ],
    },
    {
      id: 'S4',
      sentence: 'Spoken cues and presence sounds are at least 250 ms apart.',
      source: 'Our choice: less runs together for a listener who is hard of hearing.',
      tests: [invariant('S4:'), test(tests.placing)],
      faults: [
        {
          what: 'a smaller gap',
          file: code.scriptRules,
          fragment: 'export const minGapMs = 250;',
          planted: 'export const minGapMs = 240;',
        },
        {
          what: 'reminders closer to the words after them',
          file: code.placeFillers,
          fragment: 'cue.startMs < endMs + minGapMs &&',
          planted: 'cue.startMs < endMs &&',
          tests: [test(tests.placing)],
        },
        {
          what: 'reminders closer to the words before them',
          file: code.placeFillers,
          fragment: 'cue.endMs + minGapMs > startMs);',
          planted: 'cue.endMs > startMs);',
          tests: [test(tests.placing)],
        },
        {
          what: 'reminders after the release',
          file: code.placeFillers,
          fragment: 'Math.max(...taken.map(({ startMs }) => startMs)) - minGapMs;',
          planted: 'Number.MAX_SAFE_INTEGER;',
          tests: [test(tests.placing)],
        },
        {
          what: 'counts right after the words before them',
          file: code.placeBeats,
          fragment: 'fromMs: spokenEndMs + minGapMs,',
          planted: 'fromMs: spokenEndMs,',
        },
        {
          what: 'words in a rest right up to the lead',
          file: code.placeTrain,
          fragment:
            'placeRestWords(timeline, train, train.restWords, positionStartMs - changesMs - minGapMs);',
          planted: 'placeRestWords(timeline, train, train.restWords, positionStartMs - changesMs);',
        },
      ],
    },
    {
      id: 'S5',
      sentence: 'A rest is never shorter than prescribed; one that grows is told as an adjustment.',
      source: 'Our choice: the rest belongs to the dose.',
      tests: [invariant('S5:')],
      faults: [
        {
          what: 'the rest is measured from the start of the session',
          file: code.placeTrain,
          fragment: 'ceilTo(beatGridMs, Math.max(restEndMs, earliestFirstBeatMs(forms)))',
          planted: 'ceilTo(beatGridMs, earliestFirstBeatMs(forms))',
        },
        {
          what: 'a rest that grew is not told',
          file: code.placeTrain,
          fragment: 'if (restMs - train.restBeforeMs < noticeableRestMs) return;',
          planted: 'if (restMs - train.restBeforeMs < 10 * noticeableRestMs) return;',
        },
      ],
    },
    {
      id: 'S6',
      sentence: 'Breath phases are exact, and words end 300 ms before their phase does.',
      source: 'Our choice: nobody is talked into the next breath.',
      tests: [invariant('S6:')],
      faults: [
        {
          what: 'words to the end of the phase',
          file: code.placeBeats,
          fragment: 'Math.min(phaseEndMs - phaseTailMs, nextMs - minGapMs)',
          planted: 'Math.min(phaseEndMs, nextMs - minGapMs)',
        },
        {
          what: 'the breath out begins with the pause',
          file: code.breath,
          fragment: 'const outAtMs = inEndMs + toMs(pauseAfterInSeconds);',
          planted: 'const outAtMs = inEndMs;',
        },
        {
          what: 'a cycle without its last pause',
          file: code.breath,
          fragment:
            'pace.inSeconds + pace.pauseAfterInSeconds + pace.outSeconds + pace.pauseAfterOutSeconds,',
          planted: 'pace.inSeconds + pace.pauseAfterInSeconds + pace.outSeconds,',
        },
      ],
    },
    {
      id: 'S7',
      sentence: 'Safety words are in every session, and no hold starts unprepared.',
      source: 'Our choice; the signs are those of the leaflets that the catalogue names.',
      tests: [invariant('S7:'), test(tests.wording, 'coaching that fades')],
      faults: [
        {
          what: 'cautions of an exercise are said in a talk only',
          file: code.frame,
          fragment: "...(timing === 'talk' ? [] : warnings),",
          planted: '...[],',
        },
        {
          what: 'nobody is told to keep breathing in a hold',
          file: code.frame,
          fragment: "...(timing === 'hold'\n",
          planted: "...(timing === 'tempo'\n",
        },
        {
          what: 'no warning that a repetition begins',
          file: code.frame,
          fragment: "return [{ role: 'prepare', words }, ready];",
          planted: "return [{ role: 'prepare', words }];",
        },
      ],
    },
    {
      id: 'S8',
      sentence: 'No silence is longer than the presence interval.',
      source: 'Our choice: silence is never mistaken for a fault.',
      tests: [invariant('S8:'), test(tests.placing, 'S8:')],
      faults: [
        {
          what: 'one sound too few',
          file: code.fillSilences,
          fragment: 'const count = Math.ceil(',
          planted: 'const count = Math.floor(',
        },
        {
          what: 'the silence at the end is not filled',
          file: code.fillSilences,
          fragment: 'const nextMs = cue?.startMs ?? durationMs;',
          planted: 'const nextMs = cue?.startMs ?? soundEndMs;',
        },
      ],
    },
    {
      id: 'S9',
      sentence: 'Chapters partition the session, and each repetition can be resumed, in silence.',
      source: 'Our choice: nobody goes on in the middle of a count.',
      tests: [invariant('S9:')],
      faults: [
        {
          what: 'the resume point lies in the words before',
          file: code.placeBlocks,
          fragment: 'return startMs - Math.min(resumeLeadMs, Math.floor(silenceMs / 2));',
          planted: 'return startMs - resumeLeadMs;',
        },
        {
          what: 'no resume point at a repetition',
          file: code.placeTrain,
          fragment: 'const resumeHere = train.resumeHere && index === 0;',
          planted: 'const resumeHere = train.resumeHere && index > 0;',
        },
        {
          what: 'a tone counts as silence',
          file: code.placeBlocks,
          fragment: 'return Math.max(spokenEndMs, cue.tone?.endMs ?? 0);',
          planted: 'return spokenEndMs;',
        },
      ],
    },
    {
      id: 'S10',
      sentence: 'The same program, voice and seed give the same script.',
      source: 'Our choice: what was tried is what is heard.',
      tests: [invariant('S10:'), test(tests.variety)],
      faults: [
        {
          what: 'wording by chance',
          file: code.variety,
          fragment: "return (hash(key.join('|')) + sessionNumber) % count;",
          planted: 'return Math.floor(Math.random() * count);',
        },
      ],
    },
    {
      id: 'S11',
      sentence: 'Every change of position has its time, longer where it is new, and nobody waits in silence.',
      source: 'Our choice; Osteoporosis Canada describes the log roll.',
      tests: [test(tests.walk, 'S11:')],
      faults: [
        {
          what: 'no more time where it is new',
          file: code.scriptRules,
          fragment: 'export const newToItTimes = 1.5;',
          planted: 'export const newToItTimes = 1;',
        },
        {
          what: 'no sound in a long wait',
          file: code.placeSay,
          fragment: 'if (ownTime.ms < accompaniedFromMs) return [];',
          planted: 'if (ownTime.ms <= 2 * accompaniedFromMs) return [];',
        },
        {
          what: 'the time of a change is left out',
          file: code.placeSay,
          fragment: 'timeline.cursorMs = endMs + (say.ownTime?.ms ?? say.silenceAfterMs);',
          planted: 'timeline.cursorMs = endMs + say.silenceAfterMs;',
        },
      ],
    },
    {
      id: 'S12',
      sentence: 'The first beat comes within 10 s of the end of an explanation.',
      source: 'Our choice: later, what was told is no longer in mind.',
      tests: [test(tests.walk, 'S12:')],
      faults: [
        {
          what: 'thirteen seconds',
          file: code.scriptRules,
          fragment: 'export const longestExplainedMs = 10_000;',
          planted: 'export const longestExplainedMs = 13_000;',
        },
        {
          what: 'the time to settle never gives way',
          file: code.placeTrain,
          fragment: 'if (earliestFirstBeatMs(fullest) > limitMs) dropTimeToSettle(timeline);',
          planted: '',
        },
      ],
    },
    {
      id: 'S13',
      sentence: 'A starting position that is an effort is taken up last, and left for long rests.',
      source: 'Our choice, no source.',
      tests: [test(tests.startingPosition)],
      faults: [
        {
          what: 'kept through long rests',
          file: code.scriptRules,
          fragment: 'export const leavesPositionFromMs = 12_000;',
          planted: 'export const leavesPositionFromMs = 13_000;',
        },
        {
          what: 'kept between sets',
          file: code.startingPosition,
          fragment: '(startsSet || restBeforeMs >= leavesPositionFromMs)',
          planted: '(restBeforeMs >= leavesPositionFromMs)',
        },
      ],
    },
    {
      id: 'S14',
      sentence: 'At most two sentences about precautions before one exercise; none is lost.',
      source: 'Our choice, no source.',
      tests: [test(tests.settledWords)],
      faults: [
        {
          what: 'three sentences',
          file: code.spokenAdaptations,
          fragment: 'const mostAtOnce = 2;',
          planted: 'const mostAtOnce = 3;',
        },
        {
          what: 'a sentence without room is lost',
          file: code.spokenAdaptations,
          fragment: 'return isFirst && !spokenSentences.has(say?.full);',
          planted: 'return isFirst && spokenSentences.has(say?.full);',
        },
        {
          what: 'the manner before a limit',
          file: code.spokenAdaptations,
          fragment: "['limit', 'stop', 'manner']",
          planted: "['manner', 'limit', 'stop']",
        },
      ],
    },
    {
      id: 'S15',
      sentence: 'Reminders fade by steps after sessions 3, 7 and 14; safety words never do.',
      source:
        'Winstein & Schmidt 1990, J Exp Psychol Learn Mem Cogn 16:677, for fading; the steps are our choice.',
      tests: [test(tests.wording, 'S15:'), test(tests.wording, 'coaching that fades')],
      faults: [
        {
          what: 'fades one session early',
          file: code.fading,
          fragment: 'if (sessionNumber <= 3) return 1;',
          planted: 'if (sessionNumber < 3) return 1;',
        },
        {
          what: 'the second step one session late',
          file: code.fading,
          fragment: 'if (sessionNumber <= 7) return 0.75;',
          planted: 'if (sessionNumber <= 8) return 0.75;',
        },
        {
          what: 'the last step one session late',
          file: code.fading,
          fragment: 'if (sessionNumber < leastCoachedFrom) return 0.5;',
          planted: 'if (sessionNumber <= leastCoachedFrom) return 0.5;',
        },
      ],
    },
    {
      id: 'S16',
      sentence: 'A line for the first session is said in it alone, and one for later sessions only in these.',
      source: 'Our choice: who does something for the first time is told how.',
      tests: [test(tests.wording, 'S16:'), invariant('S7:')],
      faults: [
        {
          what: 'later lines in the first session',
          file: code.context,
          fragment: "(line.only === 'first') === context.first;",
          planted: "line.only === 'later' || context.first;",
        },
        {
          what: 'an exercise that is new counts as known',
          file: code.context,
          fragment: 'const first = program.session.number === 1 || prescribed.isNew;',
          planted: 'const first = program.session.number === 1;',
          tests: [test(tests.wording, 'an exercise that is new')],
        },
      ],
    },
    {
      id: 'S17',
      sentence: 'Words that must be said have room for all of them, or the program is refused.',
      source: 'Our choice: nobody is talked over.',
      tests: [test(tests.placing, 'S17:'), test(tests.wording, 'too quick for its words')],
      faults: [
        {
          what: 'a word may end after the next one begins',
          file: code.placeBeats,
          fragment: 'if (startMs >= room.fromMs && endMs <= room.toMs) return',
          planted: 'if (startMs >= room.fromMs && endMs <= room.toMs + 400) return',
        },
        {
          what: 'a word may begin before the last one ends',
          file: code.placeBeats,
          fragment: 'if (startMs >= room.fromMs && endMs <= room.toMs) return',
          planted: 'if (endMs <= room.toMs) return',
        },
        {
          what: 'room is measured to the words’ beat',
          file: code.placeBeats,
          fragment: 'return firstBeatMs + next.atMs - beatOffsetMs(timeline, next, shortest(next.words));',
          planted: 'return firstBeatMs + next.atMs;',
        },
      ],
    },
  ],
};
