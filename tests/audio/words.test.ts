import { describe, expect, it } from 'vitest';
import { WebVTTParser } from 'webvtt-parser';
import { captionsOf } from '../../src/audio/captions.js';
import { sessionTag } from '../../src/audio/sessionTag.js';
import { soundsOf } from '../../src/audio/soundsOf.js';
import { transcriptOf } from '../../src/audio/transcript.js';
import { testClips, testScript, tonedScript } from './testScript.js';

const script = testScript();
const spoken = script.cues.flatMap((cue) => (cue.text === undefined ? [] : [{ ...cue, text: cue.text }]));

/** With the semicolons that the reader's own list of entities leaves out, and so would leave standing. */
const reader = new WebVTTParser({ '&amp;': '&', '&lt;': '<', '&gt;': '>' });

describe('captions', () => {
  const { cues, errors } = reader.parse(captionsOf(script), 'captions');

  // Independent reader: webvtt-parser.
  it('are read without complaint, every spoken word at its time', () => {
    expect(errors).toEqual([]);
    expect(cues.length).toBe(spoken.length);
    spoken.forEach((cue, index) => {
      expect(Math.round((cues[index]?.startTime ?? 0) * 1000)).toBe(cue.startMs);
      expect(Math.round((cues[index]?.endTime ?? 0) * 1000)).toBeGreaterThanOrEqual(cue.endMs);
      expect(cues[index]?.id).toBe(String(index + 1));
    });
  });

  it('keep odd characters as text', () => {
    expect(plainText(cues[0]?.tree.children)).toBe(spoken[0]?.text);
    const arrow = {
      ...script,
      cues: script.cues.map((cue) => ({ ...cue, text: 'a --> b\n\nWEBVTT & <i>x' })),
    };
    const read = reader.parse(captionsOf(arrow), 'captions');
    expect(read.errors).toEqual([]);
    expect(plainText(read.cues[0]?.tree.children)).toBe('a --> b WEBVTT & <i>x');
  });

  it('stay long enough to be read, and leave before the next one', () => {
    cues.forEach((cue, index) => {
      const next = cues[index + 1];
      if (next !== undefined) expect(cue.endTime).toBeLessThanOrEqual(next.startTime);
      const room = (next?.startTime ?? script.durationMs / 1000) - cue.startTime;
      expect(cue.endTime - cue.startTime).toBeGreaterThanOrEqual(Math.min(1, room) - 1e-9);
    });
  });

  it('write hours', () => {
    const late = {
      ...script,
      durationMs: 4_000_000,
      cues: [{ ...script.cues[0], startMs: 3_723_004, endMs: 3_724_999 }],
    };
    expect(captionsOf(late as typeof script)).toContain('01:02:03.004 --> 01:02:04.999');
  });
});

type Node = { value?: string; children?: readonly Node[] };

function plainText(nodes: unknown): string {
  return ((nodes ?? []) as readonly Node[]).map((node) => node.value ?? plainText(node.children)).join('');
}

describe('the transcript', () => {
  const lines = transcriptOf(script).split('\n');

  it('gives title, length, chapters and every spoken word with its time', () => {
    expect(lines.slice(0, 2)).toEqual([script.title, '1:16']);
    expect(lines).toContain('0:07  Head press');
    expect(lines).toContain('  0:07  And press');
    for (const cue of spoken) expect(transcriptOf(script)).toContain(cue.text);
  });

  it('puts the counts of one repetition on one line, and those of the next on another', () => {
    expect(lines.filter((line) => line.endsWith('one, two, three, four'))).toEqual([
      '  0:08  one, two, three, four',
      '  0:18  one, two, three, four',
    ]);
  });
});

describe('the tag', () => {
  it('is the same bytes for the same script', () => {
    expect(sessionTag(script).equals(sessionTag(testScript()))).toBe(true);
  });

  it('names the language in three letters, `und` when it has none (ISO 639-2)', () => {
    expect(sessionTag(script).includes('eng', 0, 'latin1')).toBe(true);
    const other = sessionTag({ ...script, language: 'tlh' });
    expect(other.includes(Buffer.from('und', 'utf16le'))).toBe(true);
  });

  it('holds 255 chapters, the most a table of contents can list', () => {
    const chapters = Array.from({ length: 300 }, (_, i) => ({ title: `c${i}`, startMs: i, endMs: i + 1 }));
    const tag = sessionTag({ ...script, chapters }).toString('latin1');
    expect(tag.split('CHAP').length - 1).toBe(255);
  });
});

describe('sounds of a script', () => {
  it('are every word, tone and presence sound at its place', () => {
    const sounds = soundsOf(script, testClips(script));
    const tones = script.cues.filter((cue) => cue.tone !== undefined).length;
    const presences = script.cues.filter((cue) => cue.kind === 'presence').length;
    expect(sounds.length).toBe(spoken.length + tones + presences);
    expect([tones, presences]).toEqual([4, 1]);
    const first = sounds[0];
    expect(first?.startSample).toBe((spoken[0]?.startMs ?? 0) * 24);
    expect(first?.lengthSamples).toBe(((spoken[0]?.endMs ?? 0) - (spoken[0]?.startMs ?? 0)) * 24);
  });

  it('have a short tone for each count that is not spoken, and its number to be read', () => {
    const toned = tonedScript();
    const sounds = soundsOf(toned, testClips(toned));
    const tones = sounds.filter(({ key }) => key.startsWith('count-tone/'));
    const counts = toned.cues.filter(({ kind }) => kind === 'count');
    expect(tones.map(({ startSample }) => startSample)).toEqual(
      counts.map(({ beatMs }) => (beatMs ?? 0) * 24),
    );
    expect(captionsOf(toned).match(/^three$/gm)).toHaveLength(2);
    expect(transcriptOf(toned)).toContain('one, two, three, four');
  });

  it('refuse a wording without a clip, and a clip of another length', () => {
    expect(() => soundsOf(script, new Map())).toThrow('never spoken');
    const clips = new Map(testClips(script));
    const one = clips.get('one');
    if (one === undefined) throw new Error('the test script counts');
    clips.set('one', { ...one, lengthSamples: one.lengthSamples + 24 });
    expect(() => soundsOf(script, clips)).toThrow(/“one” is not as long/);
  });
});
