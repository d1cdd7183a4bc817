import { type MeasuresOf, readPatientMeasures } from '../../../clinic/followup/measured.js';
import { bandOf } from '../../../followup/reference.js';
import type { Db } from '../../../store/engine/openStore.js';
import type { Patient } from '../../../store/people/patients.js';
import { changeView, shownValue } from '../../../text/measureChange.js';
import type { HttpResources } from '../../server/resources.js';

/** A measure in short, as plain text: for the page of the follow-up, and for papers. */
export type MeasureSummary = {
  id: string;
  name: string;
  last: { value: string /** ISO. */; takenOn: string };
  /** Null when there is one value only. */
  first: { value: string; takenOn: string } | null;
  /** From the first value to the last; null when there is one value only. */
  change: {
    /** With its sign and unit. */
    amount: string;
    /** Null where per cent say nothing. */
    percent: string | null;
    /** Null when it may be chance, or no one has published what is more than that. */
    direction: string | null;
    /** Held against the smallest real change. */
    verdict: string;
    isReal: boolean;
  } | null;
  /** Of a published division into bands; null without one. */
  band: string | null;
  /** What to think of, in whole sentences. */
  considerations: readonly string[];
};

/** The measures of a patient that have a value which was not withdrawn, in the order of the catalogue. */
export async function measuresSummary(
  db: Db,
  service: MeasuresOf & Pick<HttpResources, 'words'>,
  of: { clinicId: string; patient: Pick<Patient, 'id' | 'birthYear'> },
): Promise<MeasureSummary[]> {
  const measured = await readPatientMeasures(db, service, of);
  return measured.flatMap(({ measure, standing, considerations }) => {
    const [first] = standing;
    const last = standing.at(-1);
    if (first === undefined || last === undefined) return [];
    const short = ({ value, takenOn }: typeof last) => ({ value: shownValue(value, measure), takenOn });
    return [
      {
        id: measure.id,
        name: measure.name,
        last: short(last),
        first: first === last ? null : short(first),
        change: first === last ? null : changeView(measure, { from: first, to: last }, service.words),
        band: bandOf(measure, last.value),
        considerations: considerations.map(({ consideration }) => consideration.words),
      },
    ];
  });
}
