import { LineCounter, parseDocument } from 'yaml';
import type { z } from 'zod';
import { inputError } from '../errors/stillcountError.js';
import { knownValue, learnValue } from './knownTexts.js';
import { problemsOf } from './zodProblems.js';

/** Far larger than any real file of ours; stops a mistaken or hostile one before it costs memory. */
const maxCharacters = 200_000;

/**
 * Parses YAML text against a schema.
 *
 * @param file the name shown in messages
 * @returns the schema's output, defaults filled in
 * @throws StillcountError kind `input` naming file, line, path, found and allowed for every problem at once
 */
export function parseYaml<Schema extends z.ZodType>(
  text: string,
  file: string,
  schema: Schema,
): z.output<Schema> {
  return readAgainst(text, file, schema).output;
}

/**
 * Does the same for the project's own texts, which are read more than once, and caches the parsed value. The schema is
 * checked each time, and a text that fails is parsed again in full, to name the lines.
 */
export function parseHouseYaml<Schema extends z.ZodType>(
  text: string,
  file: string,
  schema: Schema,
): z.output<Schema> {
  const known = knownValue(text);
  if (known !== undefined) {
    const result = schema.safeParse(known);
    if (result.success) return result.data;
  }
  const { value, output } = readAgainst(text, file, schema);
  learnValue(text, value);
  return output;
}

/**
 * Returns the value of YAML text without line positions.
 *
 * @returns undefined for a text that {@link parseYaml} would reject before it looks at a schema
 */
export function yamlValue(text: string): unknown {
  if (text.length > maxCharacters) return undefined;
  try {
    return readDocument(text, '', new LineCounter()).value;
  } catch {
    return undefined;
  }
}

function readAgainst<Schema extends z.ZodType>(text: string, file: string, schema: Schema) {
  if (text.length > maxCharacters) {
    throw inputError({
      file,
      message: 'the file is too large',
      found: `${text.length} characters`,
      allowed: `at most ${maxCharacters} characters`,
    });
  }
  const lineCounter = new LineCounter();
  const { document, value } = readDocument(text, file, lineCounter);
  const result = schema.safeParse(value);
  if (result.success) return { value, output: result.data };
  throw inputError(
    problemsOf(result.error, value, schema).map(({ path, ...problem }) => {
      const range = nodeRange(document, path.keys);
      const line = range === undefined ? undefined : lineCounter.linePos(range).line;
      return {
        ...problem,
        file,
        ...(path.text === '' ? {} : { path: path.text }),
        ...(line === undefined ? {} : { line }),
      };
    }),
  );
}

type YamlDocument = ReturnType<typeof parseDocument>;

function readDocument(text: string, file: string, lineCounter: LineCounter) {
  try {
    const document = parseDocument(text, { lineCounter, prettyErrors: false });
    const [error] = document.errors;
    if (error !== undefined) {
      throw inputError({
        file,
        line: lineCounter.linePos(error.pos[0]).line,
        message: `this is not valid YAML: ${firstSentence(error.message)}`,
        allowed: 'YAML as in the starter programs',
      });
    }
    return { document, value: document.toJS({ maxAliasCount: 100 }) as unknown };
  } catch (cause) {
    if (cause instanceof Error && cause.name === 'StillcountError') throw cause;
    // The parser itself gave up: alias bombs, nesting deeper than the stack.
    throw inputError(
      { file, message: 'this cannot be read as YAML', allowed: 'a plain YAML document' },
      cause,
    );
  }
}

function firstSentence(message: string): string {
  const [sentence = message] = message.split('\n');
  return sentence.slice(0, 200);
}

/** The offset of the node at a path, or of its nearest existing parent. */
function nodeRange(document: YamlDocument, keys: readonly PropertyKey[]): number | undefined {
  for (let length = keys.length; length >= 0; length--) {
    const node = length === 0 ? document.contents : document.getIn(keys.slice(0, length), true);
    if (typeof node === 'object' && node !== null && 'range' in node && Array.isArray(node.range)) {
      return node.range[0] as number;
    }
  }
  return undefined;
}
