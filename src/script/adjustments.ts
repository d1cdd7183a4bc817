import type { Catalogue } from '../catalogue/catalogue.js';
import { changeKindSchema } from '../catalogue/changeKinds.js';
import { speak } from '../catalogue/template.js';
import type { AdjustmentNote } from './place/timeline.js';
import type { Adjustment } from './timedScript.js';

/**
 * Puts notes into words for the clinician: one sentence per kind and exercise, with the largest change and every part
 * of the repetition that it affects.
 */
export function adjustmentsInWords(notes: readonly AdjustmentNote[], catalogue: Catalogue): Adjustment[] {
  const groups = new Map<string, AdjustmentNote[]>();
  for (const note of notes) {
    const key = [
      note.kind,
      note.exercise,
      note.values.fromMs,
      note.values.dose,
      note.values.entry,
      note.values.change,
    ].join('|');
    groups.set(key, [...(groups.get(key) ?? []), note]);
  }
  return [...groups.values()].map((group) => {
    const largest = group.reduce((a, b) => (Number(b.values.toMs ?? 0) > Number(a.values.toMs ?? 0) ? b : a));
    const template = catalogue.phrases.adjustments[largest.kind];
    if (template === undefined) throw new RangeError(`no words for the adjustment ${largest.kind}`);
    const exercise = largest.exercise === undefined ? undefined : catalogue.exercises.get(largest.exercise);
    const text = speak(template, {
      ...inWords(largest.values),
      parts: partsOf(group),
      ...changeInWords(largest.values.change, catalogue),
      ...(exercise === undefined ? {} : { exercise: exercise.name }),
      times: group.length > 1 ? String(group.length) : undefined,
    });
    return {
      kind: largest.kind,
      text,
      ...(largest.exercise === undefined ? {} : { exercise: largest.exercise }),
    };
  });
}

/** Names the parts of a slow repetition that the notes concern; undefined where a repetition has only one part. */
function partsOf(group: readonly AdjustmentNote[]): string | undefined {
  const parts = [...new Set(group.flatMap(({ values }) => values.part ?? []))];
  return parts.length === 0 ? undefined : parts.join(', ');
}

function changeInWords(kind: string | number | undefined, catalogue: Catalogue): { change?: string } {
  const known = changeKindSchema.safeParse(kind);
  return known.success ? { change: catalogue.phrases.changes.kinds[known.data] } : {};
}

/**
 * Converts milliseconds to seconds with at most one decimal. The unit is dropped from the key because the template
 * states it.
 */
function inWords(values: AdjustmentNote['values']): Record<string, string> {
  return Object.fromEntries(
    Object.entries(values).map(([key, value]) =>
      key.endsWith('Ms') && typeof value === 'number'
        ? [key.slice(0, -2), String(Math.round(value / 100) / 10)]
        : [key, String(value)],
    ),
  );
}
