import { describe, expect, it } from 'vitest';
import { programSchema } from '../../src/program/schema.js';
import { runHere } from './runHere.js';
import { runStillcount } from './runStillcount.js';

describe('stillcount catalogue', () => {
  it('lists every exercise on a line and shows one in full', async () => {
    const list = await runStillcount(['catalogue']);
    expect(list).toMatchObject({ code: 0, stderr: '' });
    expect(list.stdout.trim().split('\n').length).toBeGreaterThanOrEqual(28);
    const one = await runHere(['catalogue', 'knee-rolls']);
    for (const part of ['Cautions', 'spinal-rotation', 'Dose and limits', 'Source of the dose'])
      expect(one.stdout).toContain(part);
  });

  it('names the nearest exercise when there is none of that name', async () => {
    expect(await runHere(['catalogue', 'knee-roll'])).toMatchObject({
      code: 2,
      stderr: expect.stringContaining('did you mean knee-rolls?'),
    });
  });
});

describe('stillcount voices', () => {
  it('says which voices this machine has', async () => {
    const voices = JSON.parse((await runHere(['voices', '--json'])).stdout) as unknown;
    expect(voices).toEqual(
      expect.arrayContaining([
        expect.objectContaining({ id: 'embedded:slt', available: true }),
        expect.objectContaining({ id: 'embedded:rms', available: true }),
      ]),
    );
  });
});

describe('stillcount schema', () => {
  it('is JSON Schema 2020-12 with every key of a program and every exercise', async () => {
    const schema = JSON.parse((await runHere(['schema'])).stdout) as {
      $schema: string;
      properties: Record<string, { items?: { properties?: { exercise?: { enum?: string[] } } } }>;
      additionalProperties: boolean;
    };
    expect(schema.$schema).toBe('https://json-schema.org/draft/2020-12/schema');
    expect(Object.keys(schema.properties)).toEqual(Object.keys(programSchema.shape));
    expect(schema.additionalProperties).toBe(false);
    expect(schema.properties.exercises?.items?.properties?.exercise?.enum).toContain('head-press');
  });
});

describe('stillcount remind --demo-clock', () => {
  it('plays two weeks across a clock change, and says how many messages there were', async () => {
    const played = await runHere(['remind', '--demo-clock']);
    expect(played).toMatchObject({ code: 0, stderr: '' });
    const when = [...played.stdout.matchAll(/^--- (\S+ \S+) (\S+), by mail to:\n(\S+): (.*)$/gm)].map(
      ([, at, zone, to, subject]) => ({ at, zone, to, subject }),
    );
    expect(played.stdout).toContain(`${when.length} messages in two weeks`);
    // The night of 14 March 2027 has no half past two in New York (facts of the zone): the reminder comes at three.
    expect(when.filter(({ at }) => at?.startsWith('2027-03-14 0')).map(({ at }) => at?.slice(11))).toEqual([
      ...['03:00', '03:00'],
      ...['09:00', '09:00', '09:45'],
    ]);
    const during = (from: string, until: string) => when.filter(({ at = '' }) => at >= from && at < until);
    // The mail server was away at half past two, and back after three.
    const late = during('2027-03-08 00:00', '2027-03-08 09:00').filter(
      ({ to }) => to === 'rosa@home.example',
    );
    expect(
      late.map(({ at }) => at?.slice(11, 14)),
      'once, and still within the hour',
    ).toEqual(['03:']);
    expect(played.stdout).toContain('This reminder is late. It is time for your 2:30 AM session.');
    expect(during('2027-03-09 12:00', '2027-03-12 00:00'), 'in the break').toEqual([]);
    const waiting = during('2027-03-15 09:11', '2027-03-16 09:59');
    expect(
      waiting.map(({ to, subject }) => `${to}: ${subject}`),
      'she is told again, and nobody else',
    ).toEqual(
      Array.from({ length: 3 }, () => 'ada@quillmere.example: Still waiting: a warning sign was reported'),
    );
    expect(during('2027-03-15 09:10', '2027-03-15 09:11').map(({ to }) => to)).toEqual([
      'ada@quillmere.example',
      'jonas@home.example',
    ]);
    const toRosa = when.filter(({ to }) => to === 'rosa@home.example').map(({ at = '' }) => at);
    expect(toRosa.at(-1), 'consent was taken back after that').toBe('2027-03-18 02:30');
    const forPrograms = await runHere(['remind', '--demo-clock', '--json']);
    const all: { kind: string; at: string; zone: string; to?: string; subject?: string }[] = JSON.parse(
      forPrograms.stdout,
    );
    expect(
      all
        .filter(({ kind }) => kind === 'message')
        .map(({ at, zone, to, subject }) => ({ at, zone, to, subject })),
      'the same for a program',
    ).toEqual(when);
  });
});

describe('stillcount returned-mail', () => {
  it('says so when a mail is no notice of one of its own', async () => {
    const answer = await runStillcount(['returned-mail'], {}, 'Subject: hello\r\n\r\nhello\r\n');
    expect(answer).toMatchObject({ code: 0, stdout: expect.stringContaining('nothing was recorded') });
  });
});
