import { readFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  isMoreUrgent,
  parseWarningSigns,
  type Urgency,
  urgencies,
  urgencyOf,
  warningUrgency,
} from '../../src/followup/warningSigns.js';
import { reportItemSchema } from '../../src/listening/report.js';
import { readWarningSigns } from '../../src/session/readClinicWords.js';
import { refusalOf } from '../refusal.js';

const list = await readWarningSigns('audio-templates');
const { signs } = list;
const idsOf = (urgency: Urgency) => signs.filter((sign) => sign.urgency === urgency).map(({ id }) => id);

describe('WARN-3: which of two is more urgent', () => {
  it('WARN-3: is one of them at most, an emergency before all, and one without a name right after it', () => {
    for (const [place, one] of urgencies.entries()) {
      for (const [otherPlace, other] of urgencies.entries()) {
        expect(isMoreUrgent(one, other), `${one}, ${other}`).toBe(place < otherPlace);
      }
    }
    expect(warningUrgency(list, [])).toBe('call-today');
    expect(warningUrgency(list, ['not-on-this-list'])).toBe('emergency');
  });
});

describe('the list of warning signs', () => {
  it('puts each sign where published guidance puts it', () => {
    // Emergencies: hospital leaflets on exercise after heart trouble and at home (chest, jaw, arm or between-the-blades
    // pain, faint, cold sweat, marked breathlessness, sudden weakness, numbness, speech, sight, headache); pages of
    // regional NHS spine services (saddle numbness, bladder or bowel, both legs).
    const emergencies = signs.filter(({ urgency }) => urgency === 'emergency').map(({ words }) => words);
    for (const said of [
      /chest, jaw or arm; new, unusual pain between my shoulder blades/,
      /fainted/,
      /cold sweat/,
      /breath/,
      /weakness or numbness/,
      /speaking or seeing/,
      /headache/,
      /between my legs/,
      /both legs weak, numb or painful/,
      /bladder or bowel trouble/,
    ]) {
      expect(
        emergencies.some((words) => said.test(words)),
        String(said),
      ).toBe(true);
    }
    // Finucane 2020, JOSPT: a possible new fracture, a possible infection. Calf and tingling: common practice, no
    // published source.
    expect(idsOf('call-today')).toEqual([
      'new-back-pain',
      'pain-after-fall',
      'calf-pain',
      'fever-or-wound',
      'back-at-rest',
      'arm-tingling',
      'something-else',
    ]);
    // The leaflets again: stop the exercise. Pain that rises and stays: common practice.
    expect(idsOf('stop-and-rest')).toEqual(['dizziness', 'heart-racing', 'rising-pain']);
  });

  it('takes a usual ache for no sign, and a fall, worsening weakness and shortness of breath at rest for one', () => {
    // Ours, after a physical therapist's review of the wording; no published source.
    const wordsOf = (id: string) => signs.find((sign) => sign.id === id)?.words;
    expect(wordsOf('chest-pain')).toMatch(/new, unusual pain between/);
    expect(wordsOf('back-at-rest')).toMatch(/^New or worsening/);
    expect(wordsOf('new-back-pain')).toMatch(/my usual one suddenly much worse/);
    expect(wordsOf('pain-after-fall')).toMatch(/^I have fallen/);
    expect(wordsOf('arm-tingling')).toMatch(/leg or foot, or worsening weakness there/);
    expect(wordsOf('no-breath')).toMatch(/short of breath at rest/);
    const fall = signs.find(({ id }) => id === 'pain-after-fall')?.instruct;
    expect(fall).toMatch(/emergency number now\. Call it too if you hit your head.*blood thinners/);
  });

  it('says of each what to do now, and leads to the emergency number or to the clinic', () => {
    for (const { id, urgency, instruct } of signs) {
      const leadsTo = {
        emergency: /emergency number now/,
        'call-today': /call your clinic today/i,
        'stop-and-rest': /your clinic/,
      };
      expect(instruct, id).toMatch(leadsTo[urgency]);
    }
  });

  it('has clinicians told of each, again as long as nobody answers, and the sooner the more urgent it is', () => {
    const times = urgencies.map((urgency) => list.telling[urgency]);
    for (const { tells, toldAgainAfterMinutes } of times) {
      expect(tells).toContain('clinicians');
      expect(toldAgainAfterMinutes.length).toBeGreaterThan(0);
    }
    const inOrder = (numbers: number[]) => expect(numbers).toEqual([...numbers].sort((a, b) => a - b));
    inOrder(times.map(({ answerWithinMinutes }) => answerWithinMinutes));
    inOrder(times.map(({ toldAgainAfterMinutes }) => toldAgainAfterMinutes[0] ?? 0));
  });

  it('tells caregivers of each who are agreed on, and asks for an answer in an hour, a working day, a day', () => {
    // Our choice, no published source; written here a second time so that the file cannot lose one unseen.
    const tells = ['clinicians', 'agreed-caregivers'];
    const later = [120, 720, 1440];
    expect(list.telling).toEqual({
      emergency: { tells, toldAgainAfterMinutes: [30, ...later], answerWithinMinutes: 60 },
      'call-today': { tells, toldAgainAfterMinutes: later, answerWithinMinutes: 480 },
      'stop-and-rest': { tells, toldAgainAfterMinutes: later, answerWithinMinutes: 1440 },
    });
  });

  it('can be read: few lines, short sentences, and every id as a report may name it', () => {
    expect(signs.length).toBeLessThanOrEqual(18);
    for (const { words, instruct } of signs) {
      expect(words.split(' ').length, words).toBeLessThanOrEqual(16);
      expect(words.length, words).toBeLessThanOrEqual(100);
      for (const sentence of instruct.split('. ')) {
        expect(sentence.split(' ').length, sentence).toBeLessThanOrEqual(18);
      }
    }
    const id = '7b2f0a4e-3f7e-4a53-9c52-0c3f5b0f9a11';
    const warning = {
      kind: 'warning',
      ...{ id, listeningId: id, patientId: id, prescriptionId: id },
      ...{ versionNumber: 1, sessionNumber: 1, slot: '2026-11-25#1', positionMs: 0, atMs: 0 },
      signs: signs.map((sign) => sign.id),
    };
    expect(reportItemSchema.safeParse(warning).success).toBe(true);
  });
});

describe('the urgency of some signs', () => {
  it('is that of the most urgent, whatever else is chosen and in whatever order', () => {
    const ids = signs.map((sign) => sign.id);
    fc.assert(
      fc.property(fc.shuffledSubarray(ids), fc.constantFrom(...ids), (chosen, more) => {
        const rank = (each: readonly string[]) => {
          const urgency = urgencyOf(list, each);
          return urgency === null ? urgencies.length : urgencies.indexOf(urgency);
        };
        expect(rank([...chosen, more])).toBe(Math.min(rank(chosen), rank([more])));
        expect(urgencyOf(list, [more])).toBe(signs.find(({ id }) => id === more)?.urgency);
      }),
    );
    expect(urgencyOf(list, [])).toBeNull();
  });

  it('is the highest for a sign that the list does not have', () => {
    expect(urgencyOf(list, ['rising-pain', 'of-an-older-list'])).toBe('emergency');
  });
});

describe('a file of warning signs', () => {
  const file = 'audio-templates/en/warning-signs.yaml';
  const refused = (text: string) => refusalOf(() => parseWarningSigns(text, file));

  it('that is wrong is named with the place', async () => {
    const text = await readFile(file, 'utf8');
    expect(parseWarningSigns(text, file)).toEqual(list);
    expect(refused(text.replace('urgency: emergency', 'urgency: soon'))).toMatch(
      /warning-signs\.yaml, line \d+, signs\[0\]\.urgency/,
    );
    expect(refused(text.replace('id: faint', 'id: chest-pain'))).toMatch(/signs\[1\].*twice/);
    expect(refused(text.replace('urgency: call-today', 'urgency: stop-and-rest'))).toMatch(
      /signs\[9\].*below/,
    );
    expect(refused(text.replaceAll('urgency: emergency', 'urgency: call-today'))).toContain('no sign');
    expect(refused(text.replace(/ {4}instruct: .*\n/, ''))).toContain('signs[0].instruct');
    expect(refused('signs: []')).toContain('at least 1');
    const unheard = text.replace('tells: [clinicians, agreed-caregivers]', 'tells: [agreed-caregivers]');
    expect(refused(unheard)).toMatch(/telling\.emergency\.tells.*clinicians must always be notified/);
    expect(refused(text.replace('[30, 120, 720, 1440]', '[30, 10]'))).toContain('later than the one before');
    expect(refused(text.replace('[30, 120, 720, 1440]', '[]'))).toContain('toldAgainAfterMinutes');
  });

  it('that is missing is the work that failed', async () => {
    await expect(readWarningSigns(join(tmpdir(), 'no-such-templates'))).rejects.toMatchObject({
      kind: 'work',
      message: expect.stringContaining('warning-signs.yaml'),
    });
  });
});
