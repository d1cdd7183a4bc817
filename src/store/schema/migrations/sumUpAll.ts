import { type Kysely, sql } from 'kysely';
import { type KeptStep, sumUp } from './sumUpListened.js';

const listeningsAtOnce = 200;

/** Sums up every listening that was kept before there were sums, some at a time. */
export async function sumUpAll(db: Kysely<unknown>): Promise<void> {
  let last = { patientId: '', listeningId: '' };
  for (;;) {
    const { rows: next } = await sql<{ patientId: string; listeningId: string }>`
      select distinct "patientId", "listeningId" from "listeningStep"
      where "listeningId" > ${last.listeningId}
        or ("listeningId" = ${last.listeningId} and "patientId" > ${last.patientId})
      order by "listeningId", "patientId" limit ${listeningsAtOnce}`.execute(db);
    const end = next.at(-1);
    if (end === undefined) return;
    await sumUpSome(db, next);
    last = end;
  }
}

async function sumUpSome(
  db: Kysely<unknown>,
  listenings: readonly { patientId: string; listeningId: string }[],
): Promise<void> {
  const ids = sql.join([...new Set(listenings.map(({ listeningId }) => listeningId))]);
  const { rows: steps } = await sql<KeptStep & { patientId: string }>`
    select "patientId", "listeningId", "prescriptionId", "versionNumber", "sessionNumber", "slot", "step",
      "positionMs", "atMs", "caregiverId", "choice"
    from "listeningStep" where "listeningId" in (${ids})`.execute(db);
  for (const { patientId, listeningId } of listenings) {
    const own = steps.filter((step) => step.patientId === patientId && step.listeningId === listeningId);
    for (const listened of sumUp(own)) {
      await sql`insert into "listened" ("patientId", "listeningId", "prescriptionId", "versionNumber",
          "sessionNumber", "slot", "caregiverId", "startedAtMs", "lastAtMs", "heardMs", "reachedMs",
          "finishedAtMs", "pauseCount", "pausedMs", "stoppedAtMs", "choice")
        values (${patientId}, ${listeningId}, ${listened.prescriptionId}, ${listened.versionNumber},
          ${listened.sessionNumber}, ${listened.slot}, ${listened.caregiverId}, ${listened.startedAtMs},
          ${listened.lastAtMs}, ${listened.heardMs}, ${listened.reachedMs}, ${listened.finishedAtMs},
          ${listened.pauseCount}, ${listened.pausedMs}, ${listened.stoppedAtMs},
          ${listened.choice})`.execute(db);
    }
  }
}
