import type { Catalogue } from '../../../catalogue/catalogue.js';
import type { Problem } from '../../../errors/stillcountError.js';
import { type LooseExercise, options, unchosenSide } from '../../../prescription/looseProgram.js';
import type { Finding } from '../../../screening/findings.js';
import type { Words } from '../../../text/words.js';
import { placeInList } from './sessionView.js';

/**
 * One exercise of the list: its dose within its limits, its own set-up, its problems, and what the screening says about
 * it.
 */
export function exerciseView(
  entry: LooseExercise,
  index: number,
  {
    catalogue,
    findings,
    words,
    problems,
  }: {
    catalogue: Catalogue;
    findings: readonly Finding[];
    words: Words;
    /** For the whole program. */
    problems: readonly Problem[];
  },
): object {
  const exercise = catalogue.exercises.get(entry.exercise);
  const dose: Readonly<Record<string, unknown>> = { ...exercise?.dose, ...entry.dose };
  const limits: Readonly<Record<string, { min: number; max: number }>> = exercise?.limits ?? {};
  const setUp = ['surface', 'headSupport', 'knees'].map((key) => {
    const { label = key, values = {} } = words.choices[`setUp.${key}`] ?? {};
    return { key, label, options: options(values, String(entry.setUp[key] ?? '')), index };
  });
  return {
    index,
    number: index + 1,
    id: entry.exercise,
    name: exercise?.name ?? entry.exercise,
    wrong: problems.flatMap(({ path, ...problem }) => {
      const place = placeInList(path);
      return place?.index === index ? [{ ...problem, path: words.doses[place.field] ?? place.field }] : [];
    }),
    cautions: exercise?.cautions ?? [],
    conflicts: findings
      .filter(({ exercises }) => exercises.includes(entry.exercise))
      .map(({ rule, precaution }) => ({
        measure: words.measures[rule.measure],
        isStrict: rule.measure !== 'change',
        name: precaution.name,
        how: rule.how,
      })),
    doses: Object.entries(limits).map(([key, { min, max }]) => ({
      key,
      label: words.doses[key] ?? key,
      value: dose[key],
      min,
      max,
    })),
    hasSide: exercise?.sidedness === 'one-side',
    sides: options(
      entry.side === unchosenSide ? { [unchosenSide]: words.unchosenSide, ...words.sides } : words.sides,
      entry.side ?? 'both',
    ),
    note: entry.note ?? '',
    isNew: entry.isNew === true,
    ownSetUp: setUp,
    hasOwnSetUp: Object.keys(entry.setUp).length > 0,
  };
}
