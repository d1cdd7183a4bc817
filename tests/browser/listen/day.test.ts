import { randomUUID } from 'node:crypto';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bedsideAt, callAt } from '../../../src/browser/listen/bedside.js';
import {
  answerOf,
  firstUnanswered,
  questions,
  questionsFor,
  skippedAnswer,
} from '../../../src/browser/listen/checkInAnswers.js';
import { canAnswer, canResume, type Place } from '../../../src/browser/listen/place.js';
import { buildPrefetchList } from '../../../src/browser/listen/prefetchList.js';
import { checkInItem, stepItem } from '../../../src/browser/listen/reports.js';
import { Times } from '../../../src/browser/listen/times.js';
import { sessionKey, sessionsAt } from '../../../src/browser/listen/today.js';
import { replaceWithEasier } from '../../../src/listening/easierSession.js';
import { findNearestSession } from '../../../src/listening/nearest.js';
import type { Plan, PlannedPerson, PlannedSession } from '../../../src/listening/plan.js';
import { promptKeys } from '../../../src/listening/plan.js';
import { checkInAnswersSchema, reportItemSchema } from '../../../src/listening/report.js';
import { wallClockInstant } from '../../../src/schedule/wallClock.js';

const hourMs = 3_600_000;
const zone = 'Europe/Vienna';
const at = (time: string, day = '2026-11-25') => wallClockInstant(day, time, zone);

function session(more: Partial<PlannedSession> = {}): PlannedSession {
  const slot = more.slot ?? '2026-11-25#1';
  return {
    prescriptionId: 'p',
    versionNumber: 1,
    sessionNumber: 1,
    slot,
    title: 'Short program',
    dueAtMs: at('09:00'),
    opensAtMs: at('07:00'),
    closesAtMs: at('15:00'),
    minutes: 3,
    state: 'later',
    session: `${slot}.json`,
    audio: `${slot}.mp3`,
    words: `${slot}.txt`,
    ...more,
  };
}

function withoutFigures({ figures: _figures, ...session }: PlannedSession): PlannedSession {
  return session;
}

function person(sessions: PlannedSession[], more: Partial<PlannedPerson> = {}): PlannedPerson {
  return {
    id: 'rosa',
    spokenName: 'Rosa',
    zone,
    day: '2026-11-25',
    isFirst: false,
    isHeld: false,
    saysWhyHeld: true,
    showsDone: true,
    isWeekDone: false,
    sessions,
    ...more,
  };
}

describe('the day without the service', () => {
  const evening = session({
    slot: '2026-11-25#2',
    dueAtMs: at('17:00'),
    opensAtMs: at('15:00'),
    closesAtMs: at('00:00', '2026-11-26'),
  });
  const states = (time: string, marks = {}, more = {}) =>
    sessionsAt(person([session(), evening], more), at(time), marks).map(({ state }) => state);

  it('moves on by the clock of the service', () => {
    expect(states('06:59')).toEqual(['later', 'later']);
    expect(states('07:00')).toEqual(['due', 'later']);
    expect(states('15:00')).toEqual(['missed', 'due']);
  });

  it('knows what happened on this phone before the service does', () => {
    expect(states('16:00', { [sessionKey(session())]: 'done' })).toEqual(['done', 'due']);
  });

  it('shows nobody what they may not see', () => {
    expect(states('16:00', {}, { showsDone: false })).toEqual(['due']);
    expect(states('16:00', { [sessionKey(evening)]: 'done' }, { showsDone: false })).toEqual([]);
  });

  it('finds the session that is nearest, for what is told without one', () => {
    const nearest = (time: string) => findNearestSession(at(time), [session(), evening])?.slot;
    expect(nearest('06:00')).toBe('2026-11-25#1');
    expect(nearest('12:59')).toBe('2026-11-25#1');
    expect(nearest('13:01')).toBe('2026-11-25#2');
    expect(findNearestSession(at('09:00'), [])).toBeNull();
  });

  it('never has two sessions of one program for now', () => {
    fc.assert(
      fc.property(fc.integer({ min: at('00:00'), max: at('23:59') }), (nowMs) => {
        const due = sessionsAt(person([session(), evening]), nowMs, {}).filter(
          ({ state }) => state === 'due',
        );
        expect(due.length).toBeLessThanOrEqual(1);
      }),
    );
  });
});

describe('a listening that was left', () => {
  const place: Place = {
    listeningId: 'l',
    personId: 'rosa',
    session: session(),
    stage: 'listening',
    positionMs: 60_000,
    leftAtMs: 1e9,
    answers: {},
    areTold: true,
  };

  it('goes on for two hours, in the same version only, also when the phone’s clock was set back', () => {
    expect(canResume(place, session(), 1e9 + hourMs)).toBe(true);
    expect(canResume(place, session(), 1e9 - hourMs)).toBe(true);
    expect(canResume(place, session(), 1e9 + 2 * hourMs)).toBe(false);
    expect(canResume(place, session({ audio: 'new.mp3' }), 1e9)).toBe(false);
    expect(canResume({ ...place, stage: 'check-in' }, session(), 1e9)).toBe(false);
    expect(canResume(null, session(), 1e9)).toBe(false);
  });

  it('can be told about for half a day', () => {
    const asked = { ...place, stage: 'check-in' as const };
    expect(canAnswer(asked, 1e9 + 11 * hourMs)).toBe(true);
    expect(canAnswer(asked, 1e9 + 13 * hourMs)).toBe(false);
    expect(canAnswer(place, 1e9)).toBe(false);
  });
});

describe('an easier session that was chosen', () => {
  const shorter = { choice: 'shorter' as const, minutes: 2 };
  const addresses = {
    session: 'sessions/p/1/12/session.json',
    audio: 'sessions/p/1/12/session.mp3',
    words: 'sessions/p/1/12/session.txt',
  };
  const whole = session({ prescriptionId: randomUUID(), easier: [shorter], ...addresses });
  const chosen = replaceWithEasier(whole, shorter);

  it('stands at the place of the whole one, with its own sound', () => {
    expect(sessionKey(chosen)).toBe(sessionKey(whole));
    expect(chosen).toMatchObject({
      ...shorter,
      session: 'sessions/p/1/12-shorter/session.json',
      audio: 'sessions/p/1/12-shorter/session.mp3',
      words: 'sessions/p/1/12-shorter/session.txt',
    });
    expect(chosen.easier).toBeUndefined();
  });

  it('is told as such, and the whole one as nothing else', () => {
    const told = (of: PlannedSession) => {
      const about = { personId: randomUUID(), session: of };
      const step = stepItem(about, randomUUID(), { step: 'started', positionMs: 0 });
      return [step, checkInItem(about, randomUUID(), { done: 'all' })].map((item) =>
        reportItemSchema.parse(item),
      );
    };
    expect(told(chosen)).toMatchObject([{ choice: 'shorter' }, { choice: 'shorter' }]);
    for (const item of told(whole)) expect(item).not.toHaveProperty('choice');
  });
});

describe('times as people say them', () => {
  it('are those of the person’s zone, read as the phone’s owner reads them', () => {
    const evening = at('17:05');
    expect(new Times('en', 'de-AT').time(evening, { zone })).toBe('17:05');
    expect(new Times('en', 'en-US').time(evening, { zone })).toMatch(/^5:05\sPM$/);
    expect(new Times('en', 'de-AT').time(evening, { zone: 'America/New_York' })).toBe('11:05');
    expect(new Times('en', 'en').day(at('00:30'), { zone })).toBe('2026-11-25');
    expect(new Times('en', 'en').day(at('00:30'), { zone: 'America/New_York' })).toBe('2026-11-24');
    // 25 November 2026 is a Wednesday (ISO 8601, week 48).
    expect(new Times('en', 'en').weekday(evening, { zone })).toBe('Wednesday');
  });
});

describe('a tablet beside the bed', () => {
  const rosa = person([session()]);
  const walter = person([session({ slot: '2026-11-25#1', dueAtMs: at('08:30') })], {
    id: 'walter',
    spokenName: 'Walter',
  });
  const momentAt = (time: string, isHeld = false) =>
    bedsideAt(
      [rosa, walter].map((each) => ({ person: each, isHeld, sessions: sessionsAt(each, at(time), {}) })),
      at(time),
    );

  it('waits for the time itself, not for the hours before in which a session may be begun', () => {
    expect(momentAt('08:29')).toMatchObject({ kind: 'waiting', next: { person: walter } });
    expect(momentAt('08:30')).toMatchObject({ kind: 'due', person: walter, minute: 0 });
    expect(momentAt('09:10')).toMatchObject({ kind: 'due', person: walter, minute: 40 });
  });

  it('lights up no room for what nobody began for two hours', () => {
    expect(momentAt('10:29')).toMatchObject({ kind: 'due', person: walter });
    expect(momentAt('10:30')).toMatchObject({ kind: 'due', person: rosa });
    expect(momentAt('11:00')).toEqual({ kind: 'waiting', next: null });
  });

  it('calls nobody whose clinic has to answer first', () => {
    expect(momentAt('09:10', true)).toEqual({ kind: 'waiting', next: null });
  });

  it('calls for ten minutes, louder each time, and then leaves it', () => {
    const calls = Array.from({ length: 60 }, (_, minute) => callAt(minute));
    expect(calls.filter((call) => call !== null)).toHaveLength(10);
    const strengths = calls.flatMap((call) => call?.strength ?? []);
    expect(strengths).toEqual([...strengths].sort((a, b) => a - b));
    expect(strengths.at(-1)).toBe(1);
    expect(calls[0]?.isSpoken).toBe(true);
  });
});

describe('what is fetched ahead', () => {
  const plan = (sessions: PlannedSession[]): Plan => ({
    format: 'stillcount-plan/1',
    nowMs: 0,
    goodUntilMs: 1,
    isCaregiver: false,
    clinic: { name: 'Quillmere', phone: '', emergencyNumber: '' },
    people: [person(sessions)],
  });

  it('is the session for now and the next one, with the sound before what belongs to it', () => {
    const sessions = [
      session({ slot: '2026-11-24#1', state: 'missed' }),
      // What is easier is made and fetched only when somebody chooses it.
      session({
        state: 'due',
        easier: [{ choice: 'lighter', minutes: 2 }],
      }),
      session({ slot: '2026-11-26#1' }),
      session({ slot: '2026-11-27#1' }),
    ];
    const needed = buildPrefetchList(plan(sessions)).filter((address) => !address.startsWith('prompts/'));
    expect(needed).toEqual(
      ['2026-11-25#1', '2026-11-26#1'].flatMap((slot) => [`${slot}.mp3`, `${slot}.json`, `${slot}.txt`]),
    );
  });

  it('comes before its figures, which nobody needs in order to listen', () => {
    const sessions = ['2026-11-25#1', '2026-11-26#1'].map((slot) =>
      session({ slot, figures: `${slot}.html` }),
    );
    const needed = buildPrefetchList(plan(sessions)).slice(promptKeys.length);
    expect(needed.slice(-2)).toEqual(['2026-11-25#1.html', '2026-11-26#1.html']);
    expect(needed.slice(0, -2)).toEqual(
      buildPrefetchList(plan(sessions.map(withoutFigures))).slice(promptKeys.length),
    );
  });

  it('has every sentence, so that nothing is silent without a network', () => {
    expect(buildPrefetchList(plan([]))).toEqual(promptKeys.map((key) => `prompts/rosa/${key}.mp3`));
  });
});

describe('answers', () => {
  function given(fields: Record<string, string | string[]>): FormData {
    const form = new FormData();
    for (const [name, values] of Object.entries(fields))
      for (const value of [values].flat()) form.append(name, value);
    return form;
  }

  it('are what the service takes, and nothing is answered by silence', () => {
    const all = given({
      done: 'most',
      painBefore: '0',
      painAfter: '10',
      effort: '4',
      sign: ['faint'],
      note: ' fine ',
    });
    const answers = questions.map((question) => answerOf(question, all));
    const merged = Object.assign({}, ...answers);
    expect(checkInAnswersSchema.parse(merged)).toEqual({
      done: 'most',
      painBefore: 0,
      painAfter: 10,
      effort: 4,
      signs: ['faint'],
      note: 'fine',
    });
    const silent = questions.filter((question) => answerOf(question, given({})) !== null);
    expect(silent, 'only a note may be left empty').toEqual(['note']);
    expect(answerOf('signs', given({ 'no-sign': 'on' }))).toEqual({ signs: [] });
    expect(answerOf('done', given({ done: 'everything' }))).toBeNull();
  });

  it('go on where they stopped', () => {
    expect(firstUnanswered({})).toBe('done');
    expect(firstUnanswered({ done: null, painBefore: 3 })).toBe('painAfter');
    expect(firstUnanswered({ done: null, painBefore: 3, painAfter: 4 })).toBe('effort');
    expect(firstUnanswered({ done: null, painBefore: 3, painAfter: 5 })).toBe('risingPain');
    expect(firstUnanswered({ done: null, painBefore: 3, painAfter: 5, effort: 2 })).toBe('signs');
  });

  it('ask whether a pain stays that is two points higher than before, and only then', () => {
    const scale = fc.option(fc.integer({ min: 0, max: 10 }));
    fc.assert(
      fc.property(scale, scale, (painBefore, painAfter) => {
        const isAsked = questionsFor({ painBefore, painAfter }).includes('risingPain');
        const rise = painBefore === null || painAfter === null ? 0 : painAfter - painBefore;
        expect(isAsked).toBe(rise >= 2);
      }),
    );
  });

  it('never let a sign go that is ticked, also when its question is skipped', () => {
    expect(skippedAnswer('signs', given({ sign: ['faint'] }))).toEqual({ signs: ['faint'] });
    expect(skippedAnswer('signs', given({}))).toEqual({ signs: null });
    expect(skippedAnswer('effort', given({ sign: ['faint'] }))).toEqual({ effort: null });
    const rising = given({ risingPain: 'yes', 'no-sign': 'on' });
    expect(answerOf('risingPain', rising)).toEqual({});
    expect(answerOf('signs', rising)).toEqual({ signs: ['rising-pain'] });
    expect(answerOf('signs', given({ risingPain: 'no', 'no-sign': 'on' }))).toEqual({ signs: [] });
  });
});
