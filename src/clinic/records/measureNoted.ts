import type { MeasureNoted } from '../../documents/progressNote.js';
import { changeBetween, type Taken } from '../../followup/change.js';
import type { Measure } from '../../followup/measures.js';
import { agesOn, belowAverageAt } from '../../followup/reference.js';
import { numberText, valueText } from '../../followup/units.js';
import type { Patient } from '../../store/people/chart.js';
import { changeView, shownValue } from '../../text/measureChange.js';
import type { Measured } from '../followup/measured.js';
import type { Resources } from '../resources/resources.js';

/** A measure as a note shows it, with the numbers and sources of its page; null without a value. */
export function describeMeasureForNote(
  { measure, standing, considerations }: Measured,
  { birthYear }: Pick<Patient, 'birthYear'>,
  { words }: Pick<Resources, 'words'>,
): MeasureNoted[] {
  const [first, last] = [standing[0], standing.at(-1)];
  if (first === undefined || last === undefined) return [];
  const short = ({ value, takenOn }: Taken) => ({ value: shownValue(value, measure), takenOn });
  const isOne = first === last;
  const possibleAges = birthYear === null ? [] : agesOn(birthYear, last.takenOn);
  const { belowAverage } = measure;
  const averages = belowAverage === undefined ? [] : belowAverageAt(belowAverage, last.value, possibleAges);
  return [
    {
      name: measure.name,
      last: short(last),
      first: isOne ? null : short(first),
      change: isOne ? null : changeNoted(measure, { from: first, to: last }, words),
      considerations: considerations.map(({ consideration, found }) => ({
        words: consideration.words,
        loss: consideration.when.kind.startsWith('loss') ? shownValue(found, measure) : null,
        source: consideration.source.text,
      })),
      belowAverage:
        belowAverage === undefined
          ? null
          : {
              bands: averages.filter(({ men, women }) => men.isBelow || women.isBelow),
              words: belowAverage.words,
              source: belowAverage.source.text,
            },
    },
  ];
}

function changeNoted(
  measure: Measure,
  of: { from: Taken; to: Taken },
  words: Resources['words'],
): NonNullable<MeasureNoted['change']> {
  const { amount, percent, direction } = changeView(measure, of, words);
  const { needed, verdict, direction: way } = changeBetween(measure, of.from, of.to);
  const { realChange } = measure;
  if (realChange.kind === 'not-published' || needed === null) {
    return { amount, percent, direction, verdict, published: null };
  }
  const { points, onePoint } = words.measuring;
  const unit = measure.unit === '' ? { unit: points, oneUnit: onePoint } : measure;
  return {
    ...{ amount, percent, direction, verdict },
    published: {
      needed: valueText(needed, { ...measure, ...unit, decimals: 2 }),
      percent:
        realChange.kind === 'amount-and-percent' && way === 'better'
          ? numberText(realChange.percent, 0)
          : null,
      population: realChange.population,
      source: realChange.source.text,
    },
  };
}
