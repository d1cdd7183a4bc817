CREATE TABLE "kysely_migration" ("name" varchar(255) not null primary key, "timestamp" varchar(255) not null);
CREATE TABLE "kysely_migration_lock" ("id" varchar(255) not null primary key, "is_locked" integer default 0 not null);
CREATE TABLE "clinic" ("id" text primary key, "name" text not null, "zone" text not null, "createdAtMs" bigint not null);
CREATE TABLE "clinician" ("id" text primary key, "clinicId" text not null references "clinic" ("id"), "email" text not null unique, "name" text not null, "role" text not null, "passwordHash" text not null, "totpSecret" text, "totpLastStep" bigint default 0 not null, "createdAtMs" bigint not null, "endedAtMs" bigint);
CREATE TABLE "invitation" ("tokenHash" text primary key, "clinicId" text references "clinic" ("id"), "role" text not null, "createdAtMs" bigint not null, "expiresAtMs" bigint not null, "usedAtMs" bigint);
CREATE TABLE "signInSession" ("tokenHash" text primary key, "clinicianId" text not null references "clinician" ("id"), "formToken" text not null, "createdAtMs" bigint not null, "lastSeenAtMs" bigint not null, "expiresAtMs" bigint not null);
CREATE TABLE "patient" ("id" text primary key, "clinicId" text not null references "clinic" ("id"), "name" text not null, "spokenName" text not null, "sayAs" text not null, "birthYear" integer, "language" text not null, "zone" text not null, "phone" text not null, "email" text not null, "hearingNotes" text not null, "goals" text not null, "searchName" text not null, "createdAtMs" bigint not null, "revision" integer not null);
CREATE TABLE "prescription" ("id" text primary key, "patientId" text not null references "patient" ("id"), "title" text not null, "state" text not null, "newestVersion" integer not null, "createdAtMs" bigint not null);
CREATE TABLE "prescriptionVersion" ("prescriptionId" text not null references "prescription" ("id"), "number" integer not null, "content" text not null, "reason" text not null, "signedBy" text not null references "clinician" ("id"), "signedAtMs" bigint not null, constraint "prescriptionVersionKey" primary key ("prescriptionId", "number"));
CREATE TABLE "prescriptionState" ("id" text primary key, "prescriptionId" text not null references "prescription" ("id"), "state" text not null, "clinicianId" text not null references "clinician" ("id"), "reason" text not null, "atMs" bigint not null);
CREATE TABLE "draft" ("clinicianId" text not null references "clinician" ("id"), "patientId" text not null references "patient" ("id"), "prescriptionId" text not null, "content" text not null, "basedOnNumber" integer not null, "updatedAtMs" bigint not null, constraint "draftKey" primary key ("clinicianId", "patientId", "prescriptionId"));
CREATE TABLE "auditEntry" ("sequence" integer primary key autoincrement, "clinicId" text not null references "clinic" ("id"), "patientId" text references "patient" ("id"), "clinicianId" text references "clinician" ("id"), "action" text not null, "subject" text not null, "atMs" bigint not null);
insert into "kysely_migration" values ('0001-prescribing', '2026-11-27T18:01:40.234Z');
insert into "kysely_migration_lock" values ('migration_lock', 0);
insert into "clinic" values ('fa8ee465-b511-48ff-9432-d4fe180db9f7', 'Quillmere', 'UTC', 1795564800000);
insert into "clinician" values ('abd47630-7e7c-4da7-af29-559f646aa12a', 'fa8ee465-b511-48ff-9432-d4fe180db9f7', 'earlier@example.org', 'Ada', 'owner', 'h', null, 0, 1795564800000, null);
insert into "invitation" values ('token', null, 'owner', 1795564800000, 1795564800001, 1795564800000);
insert into "patient" values ('4ead617f-5ffa-4f17-9a34-d61b00360120', 'fa8ee465-b511-48ff-9432-d4fe180db9f7', 'Rosa Lind', 'Rosa', '', 1944, 'en', 'UTC', '', '', '', '[]', 'rosa lind', 1795564800000, 1);
insert into "prescription" values ('49d61d82-d41c-4e39-84f9-854440405943', '4ead617f-5ffa-4f17-9a34-d61b00360120', 'Morning', 'active', 1, 1795564800000);
insert into "prescriptionVersion" values ('49d61d82-d41c-4e39-84f9-854440405943', 1, '{}', 'first program', 'abd47630-7e7c-4da7-af29-559f646aa12a', 1795564800000);
CREATE INDEX "patientByName" on "patient" ("clinicId", "searchName", "id");
CREATE INDEX "prescriptionOfPatient" on "prescription" ("patientId", "createdAtMs");
CREATE INDEX "auditOfClinic" on "auditEntry" ("clinicId", "sequence");
CREATE INDEX "auditOfPatient" on "auditEntry" ("patientId", "sequence");
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
