CREATE TABLE "kysely_migration" ("name" varchar(255) not null primary key, "timestamp" varchar(255) not null);
CREATE TABLE "kysely_migration_lock" ("id" varchar(255) not null primary key, "is_locked" integer default 0 not null);
CREATE TABLE "clinic" ("id" text primary key, "name" text not null, "zone" text not null, "createdAtMs" bigint not null);
CREATE TABLE "clinician" ("id" text primary key, "clinicId" text not null references "clinic" ("id"), "email" text not null unique, "name" text not null, "role" text not null, "passwordHash" text not null, "totpSecret" text, "totpLastStep" bigint default 0 not null, "createdAtMs" bigint not null, "endedAtMs" bigint);
CREATE TABLE "invitation" ("tokenHash" text primary key, "clinicId" text references "clinic" ("id"), "role" text not null, "createdAtMs" bigint not null, "expiresAtMs" bigint not null, "usedAtMs" bigint);
CREATE TABLE "signInSession" ("tokenHash" text primary key, "clinicianId" text not null references "clinician" ("id"), "formToken" text not null, "createdAtMs" bigint not null, "lastSeenAtMs" bigint not null, "expiresAtMs" bigint not null);
CREATE TABLE "patient" ("id" text primary key, "clinicId" text not null references "clinic" ("id"), "name" text not null, "spokenName" text not null, "sayAs" text not null, "birthYear" integer, "language" text not null, "zone" text not null, "phone" text not null, "email" text not null, "hearingNotes" text not null, "goals" text not null, "searchName" text not null, "createdAtMs" bigint not null, "revision" integer not null);
CREATE TABLE "prescription" ("id" text primary key, "patientId" text not null references "patient" ("id"), "title" text not null, "state" text not null, "newestVersion" integer not null, "createdAtMs" bigint not null, "workId" text);
CREATE TABLE "prescriptionVersion" ("prescriptionId" text not null references "prescription" ("id"), "number" integer not null, "content" text not null, "reason" text not null, "signedBy" text not null references "clinician" ("id"), "signedAtMs" bigint not null, "screeningId" text, constraint "prescriptionVersionKey" primary key ("prescriptionId", "number"));
CREATE TABLE "prescriptionState" ("id" text primary key, "prescriptionId" text not null references "prescription" ("id"), "state" text not null, "clinicianId" text not null references "clinician" ("id"), "reason" text not null, "atMs" bigint not null);
CREATE TABLE "draft" ("clinicianId" text not null references "clinician" ("id"), "patientId" text not null references "patient" ("id"), "prescriptionId" text not null, "content" text not null, "basedOnNumber" integer not null, "updatedAtMs" bigint not null, constraint "draftKey" primary key ("clinicianId", "patientId", "prescriptionId"));
CREATE TABLE "auditEntry" ("sequence" integer primary key autoincrement, "clinicId" text not null references "clinic" ("id"), "patientId" text references "patient" ("id"), "clinicianId" text references "clinician" ("id"), "action" text not null, "subject" text not null, "atMs" bigint not null, "accessKeyId" text);
CREATE TABLE "screening" ("id" text primary key, "patientId" text not null references "patient" ("id"), "number" integer not null, "answers" text not null, "clinicianId" text not null references "clinician" ("id"), "atMs" bigint not null, constraint "screeningNumber" unique ("patientId", "number"));
CREATE TABLE "caregiver" ("id" text primary key, "patientId" text not null references "patient" ("id"), "name" text not null, "relation" text not null, "phone" text not null, "email" text not null, "createdAtMs" bigint not null, "endedAtMs" bigint);
CREATE TABLE "consent" ("id" text primary key, "patientId" text not null references "patient" ("id"), "caregiverId" text references "caregiver" ("id"), "kind" text not null, "number" integer not null, "isGiven" integer not null, "onDate" text not null, "note" text not null, "clinicianId" text not null references "clinician" ("id"), "atMs" bigint not null, constraint "consentNumber" unique ("patientId", "number"));
CREATE TABLE "clinicProgram" ("id" text primary key, "clinicId" text not null references "clinic" ("id"), "title" text not null, "content" text not null, "clinicianId" text not null references "clinician" ("id"), "createdAtMs" bigint not null, "endedAtMs" bigint);
CREATE TABLE "accessKey" ("id" text primary key, "tokenHash" text not null unique, "clinicianId" text not null references "clinician" ("id"), "name" text not null, "mayWrite" integer not null, "createdAtMs" bigint not null, "lastSeenAtMs" bigint, "endedAtMs" bigint);
CREATE TABLE "attention" ("clinicId" text not null references "clinic" ("id"), "patientId" text not null references "patient" ("id"), "kind" text not null, "subject" text not null, "sinceMs" bigint not null, constraint "attentionKey" primary key ("patientId", "kind", "subject"));
insert into "kysely_migration" values ('0001-prescribing', '2026-11-27T18:01:55.026Z');
insert into "kysely_migration" values ('0002-screening', '2026-11-27T18:01:55.866Z');
insert into "kysely_migration_lock" values ('migration_lock', 0);
insert into "clinic" values ('fa8ee465-b511-48ff-9432-d4fe180db9f7', 'Quillmere', 'UTC', 1795564800000);
insert into "clinician" values ('abd47630-7e7c-4da7-af29-559f646aa12a', 'fa8ee465-b511-48ff-9432-d4fe180db9f7', 'earlier@example.org', 'Ada', 'owner', 'h', null, 0, 1795564800000, null);
insert into "invitation" values ('token', null, 'owner', 1795564800000, 1795564800001, 1795564800000);
insert into "patient" values ('4ead617f-5ffa-4f17-9a34-d61b00360120', 'fa8ee465-b511-48ff-9432-d4fe180db9f7', 'Rosa Lind', 'Rosa', '', 1944, 'en', 'UTC', '', '', '', '[]', 'rosa lind', 1795564800000, 1);
insert into "prescription" values ('49d61d82-d41c-4e39-84f9-854440405943', '4ead617f-5ffa-4f17-9a34-d61b00360120', 'Morning', 'active', 1, 1795564800000, null);
insert into "prescriptionVersion" values ('49d61d82-d41c-4e39-84f9-854440405943', 1, '{}', 'first program', 'abd47630-7e7c-4da7-af29-559f646aa12a', 1795564800000, null);
CREATE INDEX "patientByName" on "patient" ("clinicId", "searchName", "id");
CREATE INDEX "prescriptionOfPatient" on "prescription" ("patientId", "createdAtMs");
CREATE INDEX "auditOfClinic" on "auditEntry" ("clinicId", "sequence");
CREATE INDEX "auditOfPatient" on "auditEntry" ("patientId", "sequence");
CREATE INDEX "caregiverOfPatient" on "caregiver" ("patientId");
CREATE INDEX "clinicProgramOfClinic" on "clinicProgram" ("clinicId", "title");
CREATE INDEX "attentionOfClinic" on "attention" ("clinicId", "sinceMs");
CREATE UNIQUE INDEX "prescriptionOfWork" on "prescription" ("workId");
CREATE INDEX "prescriptionByState" on "prescription" ("state", "patientId");
CREATE TRIGGER "prescriptionVersionNeverupdate" before update on "prescriptionVersion"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "prescriptionVersionNeverdelete" before delete on "prescriptionVersion"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "prescriptionStateNeverupdate" before update on "prescriptionState"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "prescriptionStateNeverdelete" before delete on "prescriptionState"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "auditEntryNeverupdate" before update on "auditEntry"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "auditEntryNeverdelete" before delete on "auditEntry"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "screeningNeverupdate" before update on "screening"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "screeningNeverdelete" before delete on "screening"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "consentNeverupdate" before update on "consent"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "consentNeverdelete" before delete on "consent"
      begin select raise(abort, 'rows of this table are never changed'); end;
