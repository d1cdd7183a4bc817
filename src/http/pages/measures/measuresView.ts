import type { Measured } from '../../../clinic/followup/measured.js';
import type { Measure, Source } from '../../../followup/measures.js';
import { agesOn, bandOf, belowAverageAt } from '../../../followup/reference.js';
import { numberText } from '../../../followup/units.js';
import type { MeasureTaken } from '../../../store/followup/measures.js';
import type { Patient } from '../../../store/people/chart.js';
import { dateInWords, dayInWords } from '../../../text/dates.js';
import { changeView, shownValue } from '../../../text/measureChange.js';
import type { Words } from '../../../text/words.js';
import type { HttpResources } from '../../server/resources.js';
import { measurePicture } from './measurePicture.js';

/** Every measure with values, and how each is taken. */
export function measuresView(
  service: Pick<HttpResources, 'workshop' | 'pages' | 'words'>,
  measured: readonly Measured[],
  patient: Patient,
): object {
  const withValues = measured.filter(({ rows }) => rows.length > 0);
  const { activity } = service.workshop.measures;
  const described = measured.filter(({ kind, isOpen }) => kind === 'catalogue' && isOpen);
  return {
    hasValues: withValues.length > 0,
    measured: withValues.map((each) => measuredView(service, each, patient)),
    protocols: described.flatMap(({ measure: { name, protocol } }) =>
      protocol === null
        ? []
        : [{ name, text: protocol.text, source: sourceView(protocol.source, service.words) }],
    ),
    activityProtocol: {
      text: activity.protocol.text,
      source: sourceView(activity.protocol.source, service.words),
    },
  };
}

function measuredView(
  service: Pick<HttpResources, 'pages' | 'words'>,
  each: Measured,
  patient: Patient,
): object {
  const { measure, standing, rows, kind, isOpen, considerations } = each;
  const { words } = service;
  const [first] = standing;
  const last = standing.at(-1);
  const before = standing.at(-2);
  const possibleAges =
    patient.birthYear === null || last === undefined ? [] : agesOn(patient.birthYear, last.takenOn);
  const picture = measurePicture(service, each, possibleAges);
  return {
    id: measure.id,
    name: measure.name,
    isActivity: kind === 'activity',
    isOwn: kind === 'clinic',
    isUnknown: kind === 'unknown',
    isEnded: !isOpen,
    last:
      last === undefined ? null : { value: shownValue(last.value, measure), day: dateInWords(last.takenOn) },
    fromFirst:
      first === undefined || last === undefined || first === last
        ? null
        : { ...changeView(measure, { from: first, to: last }, words), day: dateInWords(first.takenOn) },
    // With two values, the previous one is the first.
    fromBefore:
      before === undefined || last === undefined || before === first
        ? null
        : { ...changeView(measure, { from: before, to: last }, words), day: dateInWords(before.takenOn) },
    realChange: realChangeView(measure, words),
    considerations: considerations.map(({ consideration, found }) => ({
      words: consideration.words,
      isLoss: consideration.when.kind.startsWith('loss'),
      found: shownValue(found, measure),
      source: sourceView(consideration.source, words),
    })),
    band: last === undefined ? null : bandView(measure, last.value, words),
    average:
      last === undefined ? null : averageView(measure, { value: last.value, possibleAges, patient }, words),
    picture,
    isFirst: picture === null && standing.length === 1,
    rows: [...rows].reverse().map((row) => rowView(row, each, { patient, words })),
  };
}

function rowView(
  row: MeasureTaken,
  { measure, standing }: Measured,
  { patient, words }: { patient: Patient; words: Words },
): object {
  const value = shownValue(row.value, measure);
  const [first] = standing;
  const before = standing[standing.findIndex(({ id }) => id === row.id) - 1];
  const changes = (from: MeasureTaken | undefined) =>
    from === undefined || row.withdrawn !== null || from.id === row.id
      ? null
      : changeView(measure, { from, to: row }, words).amount;
  return {
    id: row.id,
    day: dateInWords(row.takenOn),
    value,
    typed: isShownAsTyped(row, measure) ? null : row.entered,
    sinceFirst: changes(first),
    sinceBefore: changes(before),
    note: row.note,
    by: row.by,
    withdrawn:
      row.withdrawn === null
        ? null
        : { ...row.withdrawn, when: dayInWords(row.withdrawn.atMs, patient.zone) },
  };
}

/** Whether the displayed value says everything that was typed. */
function isShownAsTyped({ value, entered }: MeasureTaken, measure: Measure): boolean {
  const number = numberText(value, measure.decimals);
  return [number, `${number} ${measure.unit}`, `${number}${measure.unit}`].includes(
    entered.replace(',', '.'),
  );
}

function realChangeView({ realChange, unit }: Measure, words: Words): object | null {
  if (realChange.kind === 'not-published') return null;
  const { amount, population, source } = realChange;
  const amongRaters = realChange.kind === 'amount' ? realChange.amongRaters : undefined;
  return {
    amount: numberText(amount, 2),
    unit: unit === '' ? words.measuring.points : unit,
    percent: realChange.kind === 'amount-and-percent' ? realChange.percent : null,
    amongRaters: amongRaters === undefined ? null : numberText(amongRaters, 2),
    population,
    source: sourceView(source, words),
  };
}

function bandView(measure: Measure, value: number, words: Words): object | null {
  const band = bandOf(measure, value);
  if (band === null || measure.bands === undefined) return null;
  return { words: band, about: measure.bands.about, source: sourceView(measure.bands.source, words) };
}

function averageView(
  { belowAverage }: Measure,
  { value, possibleAges, patient }: { value: number; possibleAges: readonly number[]; patient: Patient },
  words: Words,
): object | null {
  if (belowAverage === undefined) return null;
  const bands = belowAverageAt(belowAverage, value, possibleAges);
  return {
    lacksAge: patient.birthYear === null,
    lacksBand: patient.birthYear !== null && bands.length === 0,
    isOpenBand: bands.length > 1,
    bands,
    isBelow: bands.some(({ men, women }) => men.isBelow || women.isBelow),
    words: belowAverage.words,
    source: sourceView(belowAverage.source, words),
  };
}

function sourceView({ status, text }: Source, { measuring }: Words): object {
  // "Common practice." already says that nothing is published.
  return { text: text.replace(/\.$/, ''), status: measuring.statuses[status] };
}
