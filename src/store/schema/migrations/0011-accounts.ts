import { type Kysely, sql } from 'kysely';

/**
 * So that nobody is locked out: one-time links for a new password, recovery codes beside the second step, which device
 * a sign-in is on, and addresses of ended accounts that are free again.
 */
export async function accounts(db: Kysely<unknown>): Promise<void> {
  const { schema } = db;
  await schema
    .createTable('accountLink')
    .addColumn('tokenHash', 'text', (column) => column.primaryKey())
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('madeById', 'text', (column) => column.references('clinician.id'))
    .addColumn('clearsSecondStep', 'integer', (column) => column.notNull())
    .addColumn('createdAtMs', 'bigint', (column) => column.notNull())
    .addColumn('expiresAtMs', 'bigint', (column) => column.notNull())
    .addColumn('usedAtMs', 'bigint')
    .execute();
  await schema.createIndex('accountLinkOfClinician').on('accountLink').column('clinicianId').execute();
  await schema
    .createTable('recoveryCode')
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('codeHash', 'text', (column) => column.notNull())
    .addColumn('createdAtMs', 'bigint', (column) => column.notNull())
    .addColumn('usedAtMs', 'bigint')
    .addPrimaryKeyConstraint('recoveryCodeKey', ['clinicianId', 'codeHash'])
    .execute();
  await schema
    .alterTable('signInSession')
    .addColumn('device', 'text', (column) => column.notNull().defaultTo(''))
    .execute();
  await schema
    .alterTable('clinician')
    .addColumn('noticesSeenAtMs', 'bigint', (column) => column.notNull().defaultTo(0))
    .execute();
  await schema.alterTable('clinician').addColumn('formerEmail', 'text').execute();
  await sql`update "clinician" set "formerEmail" = "email", "email" = "id" where "endedAtMs" is not null`.execute(
    db,
  );
}
