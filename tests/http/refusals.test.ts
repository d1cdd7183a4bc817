import { readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { Refused, refused, throwIfRefused } from '../../src/clinic/refusals.js';
import { answerCodes, refusalCodes, refusalKinds } from '../../src/errors/refusalCodes.js';
import { inputError, workError } from '../../src/errors/stillcountError.js';
import { attempt, withSentences } from '../../src/http/server/problems.js';
import { refusalWordsSchema, sentenceOf } from '../../src/text/refusalWords.js';
import { openWords } from '../../src/text/words.js';

const { refusals: words } = await openWords();

describe('the codes of refusals', () => {
  it('have a sentence each, and every sentence has a code', () => {
    expect(Object.keys(words).sort()).toEqual([...answerCodes].sort());
    const { 'no-such-person': _left, ...fewer } = words;
    expect(refusalWordsSchema.safeParse(fewer).success, 'one without a sentence').toBe(false);
    const more = { ...words, 'no-such-code': { says: 'Nobody says this' } };
    expect(refusalWordsSchema.safeParse(more).success, 'a sentence without a code').toBe(false);
  });

  it('are stable names, each given somewhere, and the only words that a command has for it', async () => {
    const files = (await readdir('src', { recursive: true })).filter(
      (file) => file.endsWith('.ts') && !file.endsWith('refusalCodes.ts'),
    );
    const texts = await Promise.all(files.map((file) => readFile(join('src', file), 'utf8')));
    const source = texts.join('\n');
    for (const code of refusalCodes) {
      expect(code).toMatch(/^[a-z]+(-[a-z]+)+$/);
      expect(source.includes(`'${code}'`), `${code} is given nowhere`).toBe(true);
    }
    const inClinic = texts.filter((_text, index) => files[index]?.startsWith('clinic/'));
    expect(inClinic.join(), 'a sentence in a command').not.toMatch(/inputError\(\{/);
  });

  it('never leave a gap in a sentence', () => {
    for (const code of refusalCodes) {
      const sentence = sentenceOf(words, { code, about: '$& of {{about}}' });
      expect(sentence.replace('$& of {{about}}', ''), code).not.toContain('{{');
    }
    expect(sentenceOf(words, { code: 'question-unanswered', about: 'Asthma' })).toBe(
      'Asthma: answer this question',
    );
  });
});

describe('a command that is refused', () => {
  it('gives every reason that can be mended, with its facts', async () => {
    const result = await attempt(async () =>
      throwIfRefused([
        { code: 'day-ahead', field: 'takenOn', found: '2099-01-01' },
        { code: 'form-outdated' },
      ]),
    );
    expect(result).toMatchObject({
      kind: 'refused',
      refusals: [{ code: 'day-ahead' }, { code: 'form-outdated' }],
    });
    if (result.kind !== 'refused') return expect.unreachable();
    expect(withSentences(result.refusals, { refusals: words })).toEqual([
      { code: 'day-ahead', message: 'this date is in the future', path: 'takenOn', found: '2099-01-01' },
      { code: 'form-outdated', message: 'this form is from an earlier sign-in', hint: 'reload the page' },
    ]);
  });

  it('gives what the rules find in their own words', async () => {
    const problem = {
      message: 'This is too long',
      path: 'dose',
      found: '90',
      allowed: '60',
      hint: 'shorten it',
    };
    const result = await attempt(() => Promise.reject(inputError(problem)));
    if (result.kind !== 'refused') return expect.unreachable();
    expect(withSentences(result.refusals, { refusals: words })).toEqual([{ code: 'not-valid', ...problem }]);
  });

  it('goes on to its own page where nothing can be mended, and what failed is no refusal', async () => {
    for (const code of refusalCodes.filter((each) => refusalKinds[each] !== 'mend'))
      await expect(
        attempt(() => Promise.reject(refused(code))),
        code,
      ).rejects.toThrow(Refused);
    const failed = workError({ message: 'the disk is full' });
    await expect(attempt(() => Promise.reject(failed))).rejects.toBe(failed);
    expect(await attempt(async () => 'kept')).toEqual({ kind: 'done', value: 'kept' });
  });
});
