import { z } from 'zod';

/** A program as far as it can be shown in a form, right or not. */
const looseSchema = z.looseObject({
  exercises: z
    .array(
      z.looseObject({
        exercise: z.string(),
        dose: z.record(z.string(), z.unknown()).default({}),
        side: z.string().optional(),
        note: z.string().optional(),
        isNew: z.boolean().optional(),
        setUp: z.record(z.string(), z.unknown()).default({}),
      }),
    )
    .default([]),
});
export type LooseProgram = z.infer<typeof looseSchema>;
export type LooseExercise = LooseProgram['exercises'][number];

/** Stands where a side is to be chosen; no program with it can be read. */
export const unchosenSide = 'choose';

/** What can be shown of a program; an empty one when nothing can. */
export function looseProgram(program: unknown): LooseProgram {
  const read = looseSchema.safeParse(program);
  return read.success ? read.data : { exercises: [] };
}

/** The value at a dotted path of nested objects, or undefined. */
export function valueAtPath(tree: unknown, path: string): unknown {
  return path
    .split('.')
    .reduce<unknown>(
      (value, key) =>
        typeof value === 'object' && value !== null && Object.hasOwn(value, key)
          ? Reflect.get(value, key)
          : undefined,
      tree,
    );
}

/** Choices of a list; a value without words, such as another voice, stays what it is. */
export function options(words: Readonly<Record<string, string>>, chosen: string): object[] {
  const known = Object.entries(words).map(([value, text]) => ({
    value,
    words: text,
    selected: value === chosen,
  }));
  return chosen === '' || chosen in words
    ? known
    : [...known, { value: chosen, words: chosen, selected: true }];
}
