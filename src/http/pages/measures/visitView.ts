import { randomUUID } from 'node:crypto';
import type { Measured } from '../../../clinic/followup/measured.js';
import type { OpenMeasureQuestion } from '../../../clinic/followup/visitMeasures.js';
import { numberText } from '../../../followup/units.js';
import { dateInWords } from '../../../text/dates.js';
import { shownValue } from '../../../text/measureChange.js';
import type { HttpResources } from '../../server/resources.js';

/** The contents of a visit form, as typed, by the id of the measure. */
export type VisitForm = {
  takenOn: string;
  note: string;
  typed: ReadonlyMap<string, { value: string; entryId: string }>;
};

/** The form for entering the measures of one visit together: a row for each, with its last value. */
export function visitView(
  { words }: Pick<HttpResources, 'words'>,
  measured: readonly Measured[],
  {
    form,
    asked,
    faulty,
  }: { form: VisitForm; asked: readonly OpenMeasureQuestion[]; faulty: ReadonlySet<string> },
): object {
  const rows = measured
    .filter(({ isOpen }) => isOpen)
    .map(({ measure, standing }) => {
      const typed = form.typed.get(measure.id);
      const last = standing.at(-1);
      const question = asked.find(({ measureId }) => measureId === measure.id)?.question;
      return {
        id: measure.id,
        name: measure.name,
        unit: measure.unit,
        value: typed?.value ?? '',
        entryId: typed?.entryId ?? randomUUID(),
        isFaulty: faulty.has(measure.id),
        last:
          last === undefined
            ? null
            : { value: shownValue(last.value, measure), day: dateInWords(last.takenOn) },
        unusual:
          question?.kind === 'unusual'
            ? {
                value: shownValue(question.value, measure),
                confirms: String(question.value),
                why: words.measuring.unusual[question.why],
                isRare: question.why === 'range',
                usualLeast: numberText(measure.usual.least, 2),
                usualMost: shownValue(measure.usual.most, measure),
                before: question.before === null ? null : shownValue(question.before, measure),
              }
            : null,
        several:
          question?.kind === 'several'
            ? {
                readings: question.readings.map(({ text, value }) => {
                  const shown = shownValue(value, measure);
                  return { text, shown: shown === text ? null : shown };
                }),
              }
            : null,
      };
    });
  return {
    visit: {
      takenOn: form.takenOn,
      note: form.note,
      rows,
      isAsked: asked.length > 0,
      isOpen: asked.length > 0 || form.typed.size > 0,
    },
  };
}
