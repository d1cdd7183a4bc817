import type { z } from 'zod';
import { inputError } from '../errors/stillcountError.js';
import { problemsOf } from './zodProblems.js';

/**
 * Validates a value against a schema, with the same messages as for a file but without lines.
 *
 * @param file the name shown in messages
 * @throws StillcountError kind `input` naming path, found and allowed for every problem at once
 */
export function checkedValue<Schema extends z.ZodType>(
  value: unknown,
  file: string,
  schema: Schema,
): z.output<Schema> {
  const result = schema.safeParse(value);
  if (result.success) return result.data;
  throw inputError(
    problemsOf(result.error, value, schema).map(({ path, ...problem }) => ({
      ...problem,
      file,
      ...(path.text === '' ? {} : { path: path.text }),
    })),
  );
}
