import { type MeasuresOf, readPatientMeasures } from '../../../clinic/followup/measured.js';
import { bandOf } from '../../../followup/reference.js';
import type { Db } from '../../../store/engine/openStore.js';
import type { Patient } from '../../../store/people/chart.js';
import { changeView, shownValue } from '../../../text/measureChange.js';
import type { HttpResources } from '../../server/resources.js';

/** A measure in brief, as plain text: for the progress page, and for documents. */
export type MeasureSummary = {
  id: string;
  name: string;
  last: { value: string /** ISO. */; takenOn: string };
  /** Null if there is only one value. */
  first: { value: string; takenOn: string } | null;
  /** From the first value to the last; null if there is only one value. */
  change: {
    /** With its sign and unit. */
    amount: string;
    /** Null if percent is meaningless. */
    percent: string | null;
    /** Null if it may be chance, or if no larger change has been published. */
    direction: string | null;
    /** Compared with the smallest real change. */
    verdict: string;
    isReal: boolean;
  } | null;
  /** From published bands; null without any. */
  band: string | null;
  /** Considerations, as full sentences. */
  considerations: readonly string[];
};

/** A patient's measures with current values, in the order of the catalogue. */
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
