import { describe, expect, it } from 'vitest';
import { programSchema } from '../../src/program/schema.js';
import { runStillcount } from './runStillcount.js';

describe('stillcount catalogue', () => {
  it('lists every exercise on a line and shows one in full', async () => {
    const list = await runStillcount(['catalogue']);
    expect(list).toMatchObject({ code: 0, stderr: '' });
    expect(list.stdout.trim().split('\n').length).toBeGreaterThanOrEqual(28);
    const one = await runStillcount(['catalogue', 'knee-rolls']);
    for (const part of ['Cautions', 'spinal-rotation', 'Dose and limits', 'Source of the dose'])
      expect(one.stdout).toContain(part);
  });

  it('names the nearest exercise when there is none of that name', async () => {
    expect(await runStillcount(['catalogue', 'knee-roll'])).toMatchObject({
      code: 2,
      stderr: expect.stringContaining('did you mean knee-rolls?'),
    });
  });
});

describe('stillcount voices', () => {
  it('says which voices this machine has', async () => {
    const voices = JSON.parse((await runStillcount(['voices', '--json'])).stdout) as unknown;
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
    const schema = JSON.parse((await runStillcount(['schema'])).stdout) as {
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
