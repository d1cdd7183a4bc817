import { z } from 'zod';
import { inputError, type Problem } from '../errors/stillcountError.js';
import { parseHouseYaml } from '../yaml/parseYaml.js';
import { isMisspelled, type WarningWords } from './findWarningWords.js';

const word = '[a-z0-9]+(?:/[a-z0-9]+)*';
const sequence = `${word}(?: ${word})*`;
const sequenceSchema = z.string().regex(new RegExp(`^${sequence}$`), {
  error: 'lowercase letters and digits only, such as passed/passing out',
});
const entrySchema = z.string().regex(new RegExp(`^${sequence}(?: \\+ ${sequence})?$`), {
  error: 'lowercase letters and digits only, such as passed/passing out, or leg/legs + weak',
});

/** The fewest letters of a word that may be misspelled; shorter words turn into other words too easily. */
const leastLetters = 5;
const wordSchema = z.string().regex(/^[a-z]+$/, { error: 'one lowercase word' });

const fileSchema = z.strictObject({
  misspelled: z.array(wordSchema.min(leastLetters)),
  lookAlikes: z.array(wordSchema),
  harmless: z.array(sequenceSchema),
  otherScripts: z.string(),
  groups: z.array(z.strictObject({ sign: z.string(), words: z.array(entrySchema).min(1) })).min(1),
});

/**
 * Parses `warning-words.yaml`.
 *
 * @param signIds ids of the signs that the words may name
 * @throws StillcountError kind `input` naming the file and the path in it for every fault
 */
export function parseWarningWords(text: string, file: string, signIds: ReadonlySet<string>): WarningWords {
  const words = parseHouseYaml(text, file, fileSchema);
  const problems = words.groups.flatMap(({ sign }, index): Problem[] => {
    const path = `groups[${index}].sign`;
    if (!signIds.has(sign)) {
      const allowed = [...signIds].join(', ');
      return [{ file, path, message: 'there is no such warning sign', found: sign, allowed }];
    }
    const isTwice = words.groups.findIndex((group) => group.sign === sign) < index;
    return isTwice ? [{ file, path, message: 'this sign has its words already', found: sign }] : [];
  });
  if (!signIds.has(words.otherScripts)) {
    const allowed = [...signIds].join(', ');
    const found = words.otherScripts;
    problems.push({ file, path: 'otherScripts', message: 'there is no such warning sign', found, allowed });
  }
  const listed = new Set(
    words.groups.flatMap((group) => group.words.flatMap((entry) => entry.split(/[ /+]+/))),
  );
  const meant = words.misspelled;
  problems.push(
    ...meant.flatMap((found, index): Problem[] =>
      listed.has(found)
        ? []
        : [{ file, path: `misspelled[${index}]`, message: 'no entry has this word', found }],
    ),
    ...words.lookAlikes.flatMap((found, index): Problem[] => {
      const path = `lookAlikes[${index}]`;
      const isNear = meant.some((each) => isMisspelled(found, each));
      return isNear ? [] : [{ file, path, message: 'it is like none of the misspelled words', found }];
    }),
  );
  if (problems.length > 0) throw inputError(problems);
  return words;
}
