import { type Kysely, sql } from 'kysely';
import type { DatabaseKind } from './databaseKind.js';

/** When reminders come, over which ways, in which state each is, and breaks of a program. */
export async function reminders(db: Kysely<unknown>, kind: DatabaseKind): Promise<void> {
  const { schema } = db;
  await schema
    .createTable('reminderRules')
    .addColumn('patientId', 'text', (column) => column.primaryKey().references('patient.id'))
    .addColumn('quietFrom', 'text', (column) => column.notNull())
    .addColumn('quietUntil', 'text', (column) => column.notNull())
    .addColumn('graceMinutes', 'integer', (column) => column.notNull())
    .addColumn('caregiverAfterMinutes', 'integer')
    .addColumn('quietAfterDays', 'integer', (column) => column.notNull())
    .execute();
  await schema
    .createTable('careBreak')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('patientId', 'text', (column) => column.notNull().references('patient.id'))
    .addColumn('kind', 'text', (column) => column.notNull())
    .addColumn('fromDay', 'text', (column) => column.notNull())
    .addColumn('untilDay', 'text')
    .addColumn('note', 'text', (column) => column.notNull())
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('createdAtMs', 'bigint', (column) => column.notNull())
    .addColumn('removedAtMs', 'bigint')
    .execute();
  await schema.createIndex('careBreakOfPatient').on('careBreak').column('patientId').execute();
  await contacts(db);
  await schema
    .createTable('reminderWatch')
    .addColumn('patientId', 'text', (column) => column.primaryKey().references('patient.id'))
    .addColumn('clinicId', 'text', (column) => column.notNull().references('clinic.id'))
    .addColumn('planAtMs', 'bigint', (column) => column.notNull())
    .addColumn('plannedUntilMs', 'bigint')
    .addColumn('nextDueAtMs', 'bigint')
    .addColumn('madeForMs', 'bigint')
    .addColumn('quietSinceMs', 'bigint')
    .addColumn('reviewSinceMs', 'bigint')
    .execute();
  await schema.createIndex('watchToPlan').on('reminderWatch').column('planAtMs').execute();
  await schema
    .createIndex('watchToMake')
    .on('reminderWatch')
    .column('nextDueAtMs')
    .where(sql<boolean>`("madeForMs" is null or "madeForMs" < "nextDueAtMs")`)
    .execute();
  // Everybody who is here already is looked at once.
  await sql`insert into "reminderWatch" ("patientId", "clinicId", "planAtMs")
    select "id", "clinicId", 0 from "patient"`.execute(db);
  await deliveries(db);
  await schema
    .createTable('serviceSecret')
    .addColumn('name', 'text', (column) => column.primaryKey())
    .addColumn('value', 'text', (column) => column.notNull())
    .addColumn('createdAtMs', 'bigint', (column) => column.notNull())
    .execute();
  // A message's address opens with a token of its own, which ends with the contact that it went to.
  await schema.alterTable('listeningToken').addColumn('contactId', 'text').execute();
  await schema.createIndex('tokenOfContact').on('listeningToken').column('contactId').execute();
  // Whether a clinician wants the week in a letter.
  await schema
    .alterTable('clinician')
    .addColumn('wantsDigest', 'integer', (column) => column.notNull().defaultTo(0))
    .execute();
  if (kind === 'postgres') {
    // Claims change these rows all the time; the server would else clean them up too seldom.
    await sql`alter table "delivery" set (autovacuum_vacuum_scale_factor = 0.02)`.execute(db);
  }
}

async function contacts({ schema }: Kysely<unknown>): Promise<void> {
  await schema
    .createTable('contact')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('clinicId', 'text', (column) => column.notNull().references('clinic.id'))
    .addColumn('patientId', 'text', (column) => column.references('patient.id'))
    .addColumn('caregiverPersonId', 'text')
    .addColumn('clinicianId', 'text', (column) => column.references('clinician.id'))
    .addColumn('channel', 'text', (column) => column.notNull())
    .addColumn('address', 'text', (column) => column.notNull())
    .addColumn('addressHash', 'text', (column) => column.notNull())
    .addColumn('unsubscribeHash', 'text', (column) => column.notNull().unique())
    .addColumn('createdAtMs', 'bigint', (column) => column.notNull())
    .addColumn('endedAtMs', 'bigint')
    .addColumn('endedWhy', 'text')
    .execute();
  for (const owner of ['patientId', 'caregiverPersonId', 'clinicianId']) {
    await schema.createIndex(`contactOf${owner}`).on('contact').column(owner).execute();
    // Nobody is reached twice at one address, however many requests come at the same moment.
    await schema
      .createIndex(`oneContactOf${owner}`)
      .unique()
      .on('contact')
      .columns([owner, 'channel', 'addressHash'])
      .where(sql.ref('endedAtMs'), 'is', null)
      .execute();
  }
}

async function deliveries({ schema }: Kysely<unknown>): Promise<void> {
  await schema
    .createTable('delivery')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('key', 'text', (column) => column.notNull().unique())
    .addColumn('clinicId', 'text', (column) => column.notNull().references('clinic.id'))
    .addColumn('patientId', 'text', (column) => column.references('patient.id'))
    .addColumn('kind', 'text', (column) => column.notNull())
    .addColumn('prescriptionId', 'text', (column) => column.references('prescription.id'))
    .addColumn('slot', 'text')
    .addColumn('slotDueAtMs', 'bigint')
    .addColumn('subject', 'text')
    .addColumn('contactId', 'text', (column) => column.notNull().references('contact.id'))
    .addColumn('caregiverId', 'text', (column) => column.references('caregiver.id'))
    .addColumn('state', 'text', (column) => column.notNull())
    .addColumn('forAtMs', 'bigint', (column) => column.notNull())
    .addColumn('nextAtMs', 'bigint', (column) => column.notNull())
    .addColumn('goodUntilMs', 'bigint', (column) => column.notNull())
    .addColumn('attempts', 'integer', (column) => column.notNull())
    .addColumn('leaseOwner', 'text')
    .addColumn('leaseUntilMs', 'bigint')
    .addColumn('why', 'text')
    .addColumn('isLate', 'integer')
    .addColumn('settledAtMs', 'bigint')
    .addColumn('seenAtMs', 'bigint')
    .execute();
  const isOpen = () => sql<boolean>`"state" in ('waiting', 'sending')`;
  await schema.createIndex('deliveryToDo').on('delivery').column('nextAtMs').where(isOpen()).execute();
  // Warning signs are found at once, however many reminders wait at nine in the morning.
  await schema
    .createIndex('warningToDo')
    .on('delivery')
    .column('nextAtMs')
    .where(sql<boolean>`"kind" = 'warning' and ${isOpen()}`)
    .execute();
  await schema.createIndex('deliveryOfPatient').on('delivery').columns(['patientId', 'forAtMs']).execute();
  await schema
    .createIndex('deliveryFailedFor')
    .on('delivery')
    .column('patientId')
    .where(sql<boolean>`"state" = 'failed' and "seenAtMs" is null`)
    .execute();
  await schema
    .createIndex('deliveryToSee')
    .on('delivery')
    .columns(['clinicId', 'settledAtMs'])
    .where(sql<boolean>`"state" = 'failed'`)
    .execute();
}
