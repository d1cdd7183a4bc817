import { z } from 'zod';
import { readTyped } from '../../followup/typedValue.js';
import { auditActor } from '../../store/accounts/audit.js';
import { lockClinic } from '../../store/accounts/clinics.js';
import { lockPatient } from '../../store/attention/patientChanged.js';
import type { Db } from '../../store/engine/openStore.js';
import { addOwnMeasure, endOwnMeasure } from '../../store/followup/measures.js';
import { searchNameOf } from '../../store/people/patients.js';
import { betterDirections } from '../../store/schema/followUpSchema.js';
import { type Actor, requireMayWrite } from '../actor.js';
import { findOwnPatient } from '../people/chart.js';
import { refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { parseForm, requiredText, text } from '../values.js';
import { readPatientMeasures } from './measured.js';

/** The limit for clinic measures and activities together: more would not be a usable list. */
const mostOwn = 60;
/** Any number that a page can show. */
const anyNumber = { unit: '', otherUnits: [], plausible: { least: -1_000_000, most: 1_000_000 } };

const name = requiredText(60);
const ownMeasureSchema = z.strictObject({
  name,
  unit: text(20),
  better: z.enum(betterDirections, { error: 'choose one' }),
});

/**
 * Adds an activity that a patient chose, rated 0 to 10.
 *
 * @throws Refused for a read-only member, or if there is no such patient; also without a name, or if the name is taken
 */
export async function addActivity(
  service: Pick<Resources, 'store' | 'workshop' | 'words'>,
  actor: Actor,
  patientId: string,
  typed: { name: string },
): Promise<void> {
  requireMayWrite(actor);
  const activity = parseForm(z.object({ name }), typed);
  const { plausible, unit, better } = service.workshop.measures.activity;
  await service.store.write(async (db) => {
    await requireRoom(db, service, actor, { patientId, name: activity.name });
    const { clinicId, id: clinicianId } = actor.clinician;
    const added = { ...activity, ...plausible, unit, better, clinicId, clinicianId, patientId };
    const id = await addOwnMeasure(db, { ...added, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId, subject: id, action: 'activity-added' });
  });
}

/**
 * Adds a measure for all of the clinic's patients. Errors as for {@link addActivity}, and for a unit or numbers that
 * cannot be read.
 *
 * @param patientId whose page it is added on
 */
export async function addClinicMeasure(
  service: Pick<Resources, 'store' | 'workshop' | 'words'>,
  actor: Actor,
  patientId: string,
  typed: { name: string; unit: string; least: string; most: string; better: string },
): Promise<void> {
  requireMayWrite(actor);
  const { least: leastTyped, most: mostTyped, ...texts } = typed;
  const own = parseForm(ownMeasureSchema, texts);
  if (!/^([^\d\s.,/+-]\D*)?$/.test(own.unit)) throw refused('unit-not-valid', { field: 'unit' });
  const numberOf = (path: string, value: string) => {
    const read = readTyped(value, anyNumber);
    if (read.kind !== 'one') throw refused('number-missing', { field: path, found: value });
    return read.value;
  };
  const [least, most] = [numberOf('least', leastTyped), numberOf('most', mostTyped)];
  if (least >= most) throw refused('limits-out-of-order', { field: 'most', found: mostTyped });
  await service.store.write(async (db) => {
    const { clinicId, id: clinicianId } = actor.clinician;
    // A name must be unique on the page where it is added.
    await lockClinic(db, clinicId);
    await requireRoom(db, service, actor, { patientId, name: own.name });
    const added = { ...own, least, most, patientId: null, clinicId, clinicianId, nowMs: actor.nowMs };
    const id = await addOwnMeasure(db, added);
    await auditActor(db, actor, { patientId: null, subject: id, action: 'own-measure-added' });
  });
}

/**
 * Stops a measure: no more values can be entered; earlier ones stay. @throws Refused as {@link addActivity}, or if
 * there is none
 */
export async function endClinicMeasure(
  service: Pick<Resources, 'store' | 'workshop'>,
  actor: Actor,
  patientId: string,
  id: string,
): Promise<void> {
  requireMayWrite(actor);
  await service.store.write(async (db) => {
    const patient = await findOwnPatient(db, actor, patientId);
    const { clinicId } = actor.clinician;
    const all = await readPatientMeasures(db, service, { clinicId, patient });
    const found = all.find(({ measure }) => measure.id === id);
    if (
      found === undefined ||
      !(await endOwnMeasure(db, { clinicId, patientId }, { id, nowMs: actor.nowMs }))
    ) {
      throw refused('no-such-measure');
    }
    const isActivity = found.kind === 'activity';
    const about = isActivity ? patientId : null;
    const action = isActivity ? 'activity-ended' : 'own-measure-ended';
    await auditActor(db, actor, { patientId: about, subject: id, action });
  });
}

async function requireRoom(
  db: Db,
  service: Pick<Resources, 'workshop' | 'words'>,
  actor: Actor,
  { patientId, name: added }: { patientId: string; name: string },
): Promise<void> {
  const patient = await findOwnPatient(db, actor, patientId);
  await lockPatient(db, patientId);
  const { clinicId } = actor.clinician;
  const open = (await readPatientMeasures(db, service, { clinicId, patient })).filter(({ isOpen }) => isOpen);
  if (open.some(({ measure }) => searchNameOf(measure.name) === searchNameOf(added))) {
    throw refused('name-taken', { field: 'name', found: added });
  }
  if (open.filter(({ kind }) => kind !== 'catalogue').length >= mostOwn) {
    throw refused('too-many-measures', { field: 'name' });
  }
}
