import {
  isWholeProgram,
  isWholeScreening,
  programColumns,
  verifySignedContent,
  versionColumns,
} from '../attention/signed.js';
import type { Db } from '../engine/openStore.js';

const rowsAtOnce = 500;

/** The result of checking everything signed or recorded against its checksum. */
export type SignedLook = {
  /** Programs that have not ended, according to their rows. */
  runningPrograms: number;
  versions: number;
  screenings: number;
  /** The ids of programs with something damaged, and the ids of damaged interviews. */
  damagedPrograms: string[];
  damagedScreenings: string[];
};

/** Checks every program, every version of it and every interview. Runs in a transaction. */
export async function verifySigned(db: Db): Promise<SignedLook> {
  const look: SignedLook = {
    ...{ runningPrograms: 0, versions: 0, screenings: 0 },
    ...{ damagedPrograms: [], damagedScreenings: [] },
  };
  await lookAtPrograms(db, look);
  await lookAtScreenings(db, look);
  return look;
}

async function lookAtPrograms(db: Db, look: SignedLook): Promise<void> {
  for (let afterId = ''; ; ) {
    const programs = await db
      .selectFrom('prescription')
      .select(programColumns)
      .where('id', '>', afterId)
      .orderBy('id')
      .limit(rowsAtOnce)
      .execute();
    const last = programs.at(-1);
    if (last === undefined) return;
    const versions = await db
      .selectFrom('prescriptionVersion as version')
      .select('version.prescriptionId')
      .select(versionColumns)
      .where('version.prescriptionId', '>', afterId)
      .where('version.prescriptionId', '<=', last.id)
      .execute();
    const known = new Map(programs.map((program) => [program.id, program]));
    const damaged = new Set(programs.filter((program) => !isWholeProgram(program)).map(({ id }) => id));
    const newest = new Set<string>();
    for (const version of versions) {
      const program = known.get(version.prescriptionId);
      if (program === undefined) continue;
      if (version.number === program.newestVersion) newest.add(program.id);
      if (verifySignedContent(program, version).damage !== null) damaged.add(program.id);
    }
    for (const { id } of programs) if (!newest.has(id)) damaged.add(id);
    look.runningPrograms += programs.filter(({ state }) => state !== 'ended').length;
    look.versions += versions.length;
    look.damagedPrograms.push(...damaged);
    afterId = last.id;
  }
}

async function lookAtScreenings(db: Db, look: SignedLook): Promise<void> {
  for (let afterId = ''; ; ) {
    const rows = await db
      .selectFrom('screening')
      .selectAll()
      .where('id', '>', afterId)
      .orderBy('id')
      .limit(rowsAtOnce)
      .execute();
    const last = rows.at(-1);
    if (last === undefined) return;
    look.screenings += rows.length;
    look.damagedScreenings.push(...rows.filter((row) => !isWholeScreening(row)).map(({ id }) => id));
    afterId = last.id;
  }
}
