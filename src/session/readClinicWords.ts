import { join } from 'node:path';
import type { Catalogue } from '../catalogue/catalogue.js';
import { spokenTags } from '../catalogue/spokenTags.js';
import { type Messages, parseMessages } from '../documents/messages.js';
import { workError } from '../errors/stillcountError.js';
import type { BlobCache } from '../files/blobCache.js';
import { type Measures, parseMeasures } from '../followup/measures.js';
import { type Progression, parseProgression } from '../followup/progression.js';
import { parseWarningSigns, type WarningSigns } from '../followup/warningSigns.js';
import type { WarningWords } from '../listening/findWarningWords.js';
import { type Prompts, parsePrompts } from '../listening/prompts.js';
import { parseWarningWords } from '../listening/warningWords.js';
import { type Interview, parseInterview } from '../screening/interview.js';
import { readHouseText } from './readHouseText.js';

type Cache = BlobCache | null;

/**
 * Reads one of the clinic's word files other than the catalogue, in the language of the clinic.
 *
 * @param folder the audio-templates folder
 * @param cache as for {@link readHouseText}
 * @throws StillcountError kind `work` when the file cannot be read, kind `input` when it is invalid
 */
async function readWords<Words>(
  folder: string,
  name: string,
  cache: Cache,
  parse: (text: string, file: string) => Words,
): Promise<Words> {
  const file = join(folder, 'en', name);
  let text: string;
  try {
    text = await readHouseText(file, cache);
  } catch (cause) {
    throw workError({ file, message: 'this template file cannot be read' }, cause);
  }
  return parse(text, file);
}

/** Reads the precaution interview. Errors as for {@link readWords}. */
export function readInterview(
  folder: string,
  catalogues: ReadonlyMap<string, Catalogue>,
  cache: Cache = null,
): Promise<Interview> {
  const catalogue = catalogues.get('en');
  if (catalogue === undefined)
    throw workError({ file: folder, message: 'the English templates are missing' });
  const known = { exerciseIds: new Set(catalogue.exercises.keys()), tags: spokenTags(catalogue) };
  return readWords(folder, 'precautions.yaml', cache, (text, file) => parseInterview(text, file, known));
}

/** Reads the warning signs that a listener can choose from. Errors as for {@link readWords}. */
export function readWarningSigns(folder: string, cache: Cache = null): Promise<WarningSigns> {
  return readWords(folder, 'warning-signs.yaml', cache, parseWarningSigns);
}

/** Reads the words of a note that may name one of the signs. Errors as for {@link readWords}. */
export function readWarningWords(
  folder: string,
  { signs }: WarningSigns,
  cache: Cache = null,
): Promise<WarningWords> {
  const signIds = new Set(signs.map(({ id }) => id));
  return readWords(folder, 'warning-words.yaml', cache, (text, file) =>
    parseWarningWords(text, file, signIds),
  );
}

/**
 * Reads the rules of progression, which say when the next step may be advised. Errors as for {@link readWords}, and
 * when the catalogue has no English words.
 */
export function readProgression(
  folder: string,
  catalogues: ReadonlyMap<string, Catalogue>,
  cache: Cache = null,
): Promise<Progression> {
  const catalogue = catalogues.get('en');
  if (catalogue === undefined)
    throw workError({ file: folder, message: 'the English templates are missing' });
  return readWords(folder, 'progression.yaml', cache, (text, file) =>
    parseProgression(text, file, catalogue),
  );
}

/** Reads the measures. Errors as for {@link readWords}. */
export function readMeasures(folder: string, cache: Cache = null): Promise<Measures> {
  return readWords(folder, 'measures.yaml', cache, parseMeasures);
}

/** Reads the sentences that the voice speaks outside a session. Errors as for {@link readWords}. */
export function readPrompts(folder: string, cache: Cache = null): Promise<Prompts> {
  return readWords(folder, 'listening.yaml', cache, parsePrompts);
}

/** Reads the texts of reminders and other messages. Errors as for {@link readWords}. */
export function readMessages(folder: string, cache: Cache = null): Promise<Messages> {
  return readWords(folder, 'messages.yaml', cache, parseMessages);
}
