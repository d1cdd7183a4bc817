import type { Db } from '../engine/openStore.js';

/**
 * A secret that the service generates the first time it is requested. Several processes that ask at once all get the
 * same one.
 */
export async function serviceSecret(
  db: Db,
  name: string,
  { make, nowMs }: { make: () => string; nowMs: number },
): Promise<string> {
  const known = await secretNamed(db, name);
  if (known !== undefined) return known;
  await db
    .insertInto('serviceSecret')
    .values({ name, value: make(), createdAtMs: nowMs })
    .onConflict((conflict) => conflict.column('name').doNothing())
    .execute();
  const made = await secretNamed(db, name);
  if (made === undefined) throw new Error('a secret that was just made is not there');
  return made;
}

async function secretNamed(db: Db, name: string): Promise<string | undefined> {
  const found = await db
    .selectFrom('serviceSecret')
    .select('value')
    .where('name', '=', name)
    .executeTakeFirst();
  return found?.value;
}
