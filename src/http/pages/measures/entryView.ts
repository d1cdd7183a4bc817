import type { Measured } from '../../../clinic/followup/measured.js';
import type { Entered } from '../../../clinic/followup/measures.js';
import { numberText } from '../../../followup/units.js';
import { dateInWords } from '../../../text/dates.js';
import { shownValue } from '../../../text/measureChange.js';
import type { HttpResources } from '../../server/resources.js';

/** The contents of an entry form, as typed. */
export type EntryForm = { entryId: string; measureId: string; value: string; takenOn: string; note: string };

/** The entry form, and the lists of activities and clinic measures. */
export function entryView(
  { words }: Pick<HttpResources, 'words'>,
  measured: readonly Measured[],
  entry: EntryForm,
): object {
  const open = measured.filter(({ isOpen }) => isOpen);
  const of = (kind: Measured['kind']) => open.filter((each) => each.kind === kind);
  const groups = (['activity', 'catalogue', 'clinic'] as const).map((kind) => ({
    label: words.measuring.groups[kind],
    options: of(kind).map(({ measure }) => ({
      id: measure.id,
      name: measure.name,
      unit: measure.unit,
      others: measure.otherUnits.join(', '),
      isSelected: measure.id === entry.measureId,
    })),
  }));
  const [activities, own] = [of('activity'), of('clinic')];
  return {
    entry,
    groups: groups.filter(({ options }) => options.length > 0),
    hasActivities: activities.length > 0,
    activities: activities.map(({ measure: { id, name } }) => ({ id, name, range: null })),
    hasOwn: own.length > 0,
    own: own.map(({ measure: { id, name, unit, better, plausible } }) => ({
      id,
      name,
      range: {
        least: numberText(plausible.least, 2),
        most: numberText(plausible.most, 2),
        unit,
        better: words.measuring.better[better],
      },
    })),
  };
}

/** What has to be confirmed before a value is stored. */
export function questionView(
  { words }: Pick<HttpResources, 'words'>,
  question: Exclude<Entered, { kind: 'kept' }>,
  { entryId, measureId, value: typed, takenOn, note }: EntryForm,
): object {
  const { measure } = question;
  const shared = { entryId, measureId, takenOn, note, typed, name: measure.name };
  if (question.kind === 'several') {
    const readings = question.readings.map(({ text, value }) => {
      const shown = shownValue(value, measure);
      return { text, shown: shown === text ? null : shown };
    });
    const only = readings.length === 1 ? readings[0]?.text : undefined;
    return { several: { ...shared, readings, only } };
  }
  const { value, before, why } = question;
  const shown = shownValue(value, measure);
  return {
    unusual: {
      ...shared,
      day: dateInWords(takenOn),
      value: shown,
      confirms: String(value),
      typedOtherwise: shown !== typed,
      why: words.measuring.unusual[why],
      isRare: why === 'range',
      usualLeast: numberText(measure.usual.least, 2),
      usualMost: shownValue(measure.usual.most, measure),
      before: before === null ? null : shownValue(before, measure),
    },
  };
}
