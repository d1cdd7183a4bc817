import { z } from 'zod';

/** As much of a program as a form can show, valid or not. */
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

/** Placeholder for a side that has to be chosen; a program that contains it cannot be read. */
export const unchosenSide = 'choose';

/** Returns as much of a program as can be shown; an empty one when nothing can. */
export function looseProgram(program: unknown): LooseProgram {
  const read = looseSchema.safeParse(program);
  return read.success ? read.data : { exercises: [] };
}

/** Returns the value at a dotted path of nested objects, or undefined. */
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

/** Returns the options of a list; a value without words, such as another voice, is shown as it is. */
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
