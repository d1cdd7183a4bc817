import { readFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { promptKeys } from '../../src/listening/plan.js';
import { parsePrompts } from '../../src/listening/prompts.js';
import { readPrompts } from '../../src/session/readClinicWords.js';
import { refusalOf } from '../refusal.js';

const file = 'audio-templates/en/listening.yaml';
const text = await readFile(file, 'utf8');
const prompts = await readPrompts('audio-templates');

const refused = (changed: string) => refusalOf(() => parsePrompts(changed, file));

describe('what the voice says outside a session', () => {
  it('is whole sentences, with a name and without', () => {
    expect(prompts.say('time-for-session', { name: 'Rosa' })).toMatch(/^Rosa, it is time for your session\./);
    expect(prompts.say('time-for-session', {})).toMatch(/^It is time for your session\./);
    expect(prompts.say('welcome', { name: 'Rosa' })).toMatch(/^Hello, Rosa\. /);
    for (const key of promptKeys) {
      for (const name of [undefined, 'Rosa']) {
        expect(prompts.say(key, { name }), key).toMatch(/^[A-Z].*[.?]$/);
        expect(prompts.say(key, { name }), key).not.toMatch(/[{}]|undefined| {2}/);
      }
    }
  });

  it('says a name as it is, whatever it holds', () => {
    fc.assert(
      fc.property(fc.stringMatching(/^[A-Za-z{}&<>"']{1,20}$/), (name) => {
        expect(prompts.say('welcome', { name })).toContain(`Hello, ${name}.`);
      }),
    );
  });

  it('tells whom to call when something is wrong, before anything else is asked', () => {
    const said = prompts.say('stop-now', {});
    for (const words of ['Stop now', 'emergency number at once', 'call your clinic today']) {
      expect(said).toContain(words);
    }
  });
});

describe('a file of prompts', () => {
  it('that lacks one, has one too many or uses another name is refused with the place', () => {
    expect(refused(text.replace(/ {2}thanks: .*\n/, ''))).toContain('prompts.thanks');
    expect(refused(`${text}\n  good-night: Sleep well.\n`)).toContain('good-night');
    expect(refused(text.replace('{{name}}', '{{surname}}'))).toMatch(/line \d+, prompts\.welcome.*surname/s);
    expect(refused(text.replace('Thank you.', 'Thank you.{{#name}}'))).toContain('prompts.thanks');
    expect(refused(text.replace(/(paused: ).*/, '$1"{{#name}}{{name}}{{/name}}"'))).toContain('no name');
  });

  it('that is missing is the work that failed', async () => {
    await expect(readPrompts(join(tmpdir(), 'no-such-templates'))).rejects.toMatchObject({
      kind: 'work',
      message: expect.stringContaining('listening.yaml'),
    });
  });
});
