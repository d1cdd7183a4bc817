CREATE TABLE "kysely_migration" ("name" varchar(255) not null primary key, "timestamp" varchar(255) not null);
CREATE TABLE "kysely_migration_lock" ("id" varchar(255) not null primary key, "is_locked" integer default 0 not null);
CREATE TABLE "clinic" ("id" text primary key, "name" text not null, "zone" text not null, "createdAtMs" bigint not null, "phone" text default '' not null, "emergencyNumber" text default '' not null, "notesReading" text default '' not null);
CREATE TABLE "clinician" ("id" text primary key, "clinicId" text not null references "clinic" ("id"), "email" text not null unique, "name" text not null, "role" text not null, "passwordHash" text not null, "totpSecret" text, "totpLastStep" bigint default 0 not null, "createdAtMs" bigint not null, "endedAtMs" bigint, "wantsDigest" integer default 0 not null, "noticesSeenAtMs" bigint default 0 not null, "formerEmail" text, "incidentsSeenAtMs" bigint default 0 not null);
CREATE TABLE "invitation" ("tokenHash" text primary key, "clinicId" text references "clinic" ("id"), "role" text not null, "createdAtMs" bigint not null, "expiresAtMs" bigint not null, "usedAtMs" bigint);
CREATE TABLE "signInSession" ("tokenHash" text primary key, "clinicianId" text not null references "clinician" ("id"), "formToken" text not null, "createdAtMs" bigint not null, "lastSeenAtMs" bigint not null, "expiresAtMs" bigint not null, "device" text default '' not null);
CREATE TABLE "patient" ("id" text primary key, "clinicId" text not null references "clinic" ("id"), "name" text not null, "spokenName" text not null, "sayAs" text not null, "birthYear" integer, "language" text not null, "zone" text not null, "phone" text not null, "email" text not null, "hearingNotes" text not null, "goals" text not null, "searchName" text not null, "createdAtMs" bigint not null, "revision" integer not null);
CREATE TABLE "prescription" ("id" text primary key, "patientId" text not null references "patient" ("id"), "title" text not null, "state" text not null, "newestVersion" integer not null, "createdAtMs" bigint not null, "workId" text, "checksum" text default '' not null);
CREATE TABLE "prescriptionVersion" ("prescriptionId" text not null references "prescription" ("id"), "number" integer not null, "content" text not null, "reason" text not null, "signedBy" text not null references "clinician" ("id"), "signedAtMs" bigint not null, "screeningId" text, "checksum" text default '' not null, constraint "prescriptionVersionKey" primary key ("prescriptionId", "number"));
CREATE TABLE "prescriptionState" ("id" text primary key, "prescriptionId" text not null references "prescription" ("id"), "state" text not null, "clinicianId" text not null references "clinician" ("id"), "reason" text not null, "atMs" bigint not null);
CREATE TABLE "draft" ("clinicianId" text not null references "clinician" ("id"), "patientId" text not null references "patient" ("id"), "prescriptionId" text not null, "content" text not null, "basedOnNumber" integer not null, "updatedAtMs" bigint not null, constraint "draftKey" primary key ("clinicianId", "patientId", "prescriptionId"));
CREATE TABLE "screening" ("id" text primary key, "patientId" text not null references "patient" ("id"), "number" integer not null, "answers" text not null, "stops" integer not null, "clinicianId" text not null references "clinician" ("id"), "atMs" bigint not null, "checksum" text default '' not null, constraint "screeningNumber" unique ("patientId", "number"));
CREATE TABLE "caregiver" ("id" text primary key, "patientId" text not null references "patient" ("id"), "name" text not null, "relation" text not null, "phone" text not null, "email" text not null, "createdAtMs" bigint not null, "endedAtMs" bigint, "personId" text default '' not null);
CREATE TABLE "consent" ("id" text primary key, "patientId" text not null references "patient" ("id"), "caregiverId" text references "caregiver" ("id"), "kind" text not null, "number" integer not null, "isGiven" integer not null, "onDate" text not null, "note" text not null, "clinicianId" text not null references "clinician" ("id"), "atMs" bigint not null, constraint "consentNumber" unique ("patientId", "number"));
CREATE TABLE "clinicProgram" ("id" text primary key, "clinicId" text not null references "clinic" ("id"), "title" text not null, "content" text not null, "clinicianId" text not null references "clinician" ("id"), "createdAtMs" bigint not null, "endedAtMs" bigint);
CREATE TABLE "accessKey" ("id" text primary key, "tokenHash" text not null unique, "clinicianId" text not null references "clinician" ("id"), "name" text not null, "mayWrite" integer not null, "createdAtMs" bigint not null, "lastSeenAtMs" bigint, "endedAtMs" bigint);
CREATE TABLE "attention" ("clinicId" text not null references "clinic" ("id"), "patientId" text not null references "patient" ("id"), "kind" text not null, "subject" text not null, "sinceMs" bigint not null, constraint "attentionKey" primary key ("patientId", "kind", "subject"));
CREATE TABLE "listeningLink" ("id" text primary key, "clinicId" text not null references "clinic" ("id"), "patientId" text references "patient" ("id"), "caregiverPersonId" text, "codeHash" text not null unique, "pinHash" text, "wrongPins" integer default 0 not null, "clinicianId" text not null references "clinician" ("id"), "createdAtMs" bigint not null, "expiresAtMs" bigint not null, "lastSeenAtMs" bigint, "revokedAtMs" bigint);
CREATE TABLE "listeningToken" ("tokenHash" text primary key, "linkId" text not null references "listeningLink" ("id"), "purpose" text not null, "createdAtMs" bigint not null, "revokedAtMs" bigint, "contactId" text);
CREATE TABLE "listeningStep" ("id" text primary key, "patientId" text not null references "patient" ("id"), "prescriptionId" text not null references "prescription" ("id"), "versionNumber" integer not null, "sessionNumber" integer not null, "slot" text not null, "linkId" text not null references "listeningLink" ("id"), "caregiverId" text references "caregiver" ("id"), "atMs" bigint not null, "receivedAtMs" bigint not null, "listeningId" text not null, "step" text not null, "positionMs" integer not null, "choice" text);
CREATE TABLE "notToday" ("id" text primary key, "patientId" text not null references "patient" ("id"), "prescriptionId" text not null references "prescription" ("id"), "versionNumber" integer not null, "sessionNumber" integer not null, "slot" text not null, "linkId" text not null references "listeningLink" ("id"), "caregiverId" text references "caregiver" ("id"), "atMs" bigint not null, "receivedAtMs" bigint not null, "reason" text not null);
CREATE TABLE "checkIn" ("id" text primary key, "patientId" text not null references "patient" ("id"), "prescriptionId" text not null references "prescription" ("id"), "versionNumber" integer not null, "sessionNumber" integer not null, "slot" text not null, "linkId" text not null references "listeningLink" ("id"), "caregiverId" text references "caregiver" ("id"), "atMs" bigint not null, "receivedAtMs" bigint not null, "listeningId" text not null, "answers" text not null, "choice" text);
CREATE TABLE "warning" ("id" text primary key, "patientId" text not null references "patient" ("id"), "prescriptionId" text not null references "prescription" ("id"), "versionNumber" integer not null, "sessionNumber" integer not null, "slot" text not null, "linkId" text not null references "listeningLink" ("id"), "caregiverId" text references "caregiver" ("id"), "atMs" bigint not null, "receivedAtMs" bigint not null, "listeningId" text, "positionMs" integer, "signs" text not null);
CREATE TABLE "feedDelivery" ("id" text primary key, "patientId" text not null references "patient" ("id"), "prescriptionId" text not null references "prescription" ("id"), "versionNumber" integer not null, "sessionNumber" integer not null, "slot" text not null, "linkId" text not null references "listeningLink" ("id"), "caregiverId" text references "caregiver" ("id"), "atMs" bigint not null, "receivedAtMs" bigint not null);
CREATE TABLE "warningAnswer" ("warningId" text primary key references "warning" ("id"), "clinicianId" text not null references "clinician" ("id"), "note" text not null, "atMs" bigint not null);
CREATE TABLE "reminderRules" ("patientId" text primary key references "patient" ("id"), "quietFrom" text not null, "quietUntil" text not null, "graceMinutes" integer not null, "caregiverAfterMinutes" integer, "quietAfterDays" integer not null);
CREATE TABLE "careBreak" ("id" text primary key, "patientId" text not null references "patient" ("id"), "kind" text not null, "fromDay" text not null, "untilDay" text, "note" text not null, "clinicianId" text not null references "clinician" ("id"), "createdAtMs" bigint not null, "removedAtMs" bigint);
CREATE TABLE "contact" ("id" text primary key, "clinicId" text not null references "clinic" ("id"), "patientId" text references "patient" ("id"), "caregiverPersonId" text, "clinicianId" text references "clinician" ("id"), "channel" text not null, "address" text not null, "addressHash" text not null, "unsubscribeHash" text not null unique, "createdAtMs" bigint not null, "endedAtMs" bigint, "endedWhy" text);
CREATE TABLE "reminderWatch" ("patientId" text primary key references "patient" ("id"), "clinicId" text not null references "clinic" ("id"), "planAtMs" bigint not null, "plannedUntilMs" bigint, "nextDueAtMs" bigint, "madeForMs" bigint, "quietSinceMs" bigint, "reviewSinceMs" bigint);
CREATE TABLE "delivery" ("id" text primary key, "key" text not null unique, "clinicId" text not null references "clinic" ("id"), "patientId" text references "patient" ("id"), "kind" text not null, "prescriptionId" text references "prescription" ("id"), "slot" text, "slotDueAtMs" bigint, "subject" text, "contactId" text not null references "contact" ("id"), "caregiverId" text references "caregiver" ("id"), "state" text not null, "forAtMs" bigint not null, "nextAtMs" bigint not null, "goodUntilMs" bigint not null, "attempts" integer not null, "leaseOwner" text, "leaseUntilMs" bigint, "why" text, "isLate" integer, "settledAtMs" bigint, "seenAtMs" bigint);
CREATE TABLE "serviceSecret" ("name" text primary key, "value" text not null, "createdAtMs" bigint not null);
CREATE TABLE "listened" ("listeningId" text not null, "patientId" text not null references "patient" ("id"), "prescriptionId" text not null references "prescription" ("id"), "versionNumber" integer not null, "sessionNumber" integer not null, "slot" text not null, "caregiverId" text references "caregiver" ("id"), "startedAtMs" bigint not null, "lastAtMs" bigint not null, "heardMs" bigint not null, "reachedMs" bigint not null, "finishedAtMs" bigint, "pauseCount" integer not null, "pausedMs" bigint not null, "stoppedAtMs" bigint, "choice" text, constraint "listenedKey" primary key ("patientId", "listeningId"));
CREATE TABLE "measureTaken" ("id" text primary key, "patientId" text not null references "patient" ("id"), "measureId" text not null, "value" double precision not null, "entered" text not null, "takenOn" text not null, "note" text not null, "clinicianId" text not null references "clinician" ("id"), "atMs" bigint not null);
CREATE TABLE "measureWithdrawn" ("measureTakenId" text primary key references "measureTaken" ("id"), "reason" text not null, "clinicianId" text not null references "clinician" ("id"), "atMs" bigint not null);
CREATE TABLE "ownMeasure" ("id" text primary key, "clinicId" text not null references "clinic" ("id"), "patientId" text references "patient" ("id"), "name" text not null, "unit" text not null, "least" double precision not null, "most" double precision not null, "better" text not null, "clinicianId" text not null references "clinician" ("id"), "createdAtMs" bigint not null, "endedAtMs" bigint);
CREATE TABLE "adviceAnswer" ("id" text primary key, "patientId" text not null references "patient" ("id"), "prescriptionId" text not null references "prescription" ("id"), "versionNumber" integer not null, "exerciseIndex" integer, "advice" text not null, "answer" text not null, "reason" text not null, "newVersionNumber" integer, "clinicianId" text not null references "clinician" ("id"), "atMs" bigint not null);
CREATE TABLE "progressNote" ("id" text primary key, "patientId" text not null references "patient" ("id"), "fromDay" text not null, "untilDay" text not null, "text" text not null, "clinicianId" text not null references "clinician" ("id"), "atMs" bigint not null);
CREATE TABLE "adviceWatch" ("patientId" text primary key references "patient" ("id"), "clinicId" text not null references "clinic" ("id"), "lookAtMs" bigint not null, "waits" text, "sinceMs" bigint);
CREATE TABLE "erasure" ("patientId" text primary key, "clinicId" text not null references "clinic" ("id"), "clinicianId" text not null references "clinician" ("id"), "why" text not null, "atMs" bigint not null);
CREATE TABLE "auditEntry" ("sequence" integer primary key autoincrement, "clinicId" text not null references "clinic" ("id"), "patientId" text, "clinicianId" text references "clinician" ("id"), "action" text not null, "subject" text not null, "atMs" bigint not null, "accessKeyId" text);
CREATE TABLE "note" ("checkInId" text primary key references "checkIn" ("id"), "patientId" text not null references "patient" ("id"), "signs" text default '[]' not null, "wordsHash" text default '' not null);
CREATE TABLE "noteRead" ("checkInId" text primary key references "checkIn" ("id"), "patientId" text not null references "patient" ("id"), "clinicianId" text not null references "clinician" ("id"), "atMs" bigint not null, "found" text default '' not null);
CREATE TABLE "notPlayable" ("prescriptionId" text not null references "prescription" ("id"), "patientId" text not null references "patient" ("id"), "fromMs" bigint not null, "untilMs" bigint, constraint "notPlayableKey" primary key ("prescriptionId", "fromMs"));
CREATE TABLE "accountLink" ("tokenHash" text primary key, "clinicianId" text not null references "clinician" ("id"), "madeById" text references "clinician" ("id"), "clearsSecondStep" integer not null, "createdAtMs" bigint not null, "expiresAtMs" bigint not null, "usedAtMs" bigint);
CREATE TABLE "recoveryCode" ("clinicianId" text not null references "clinician" ("id"), "codeHash" text not null, "createdAtMs" bigint not null, "usedAtMs" bigint, constraint "recoveryCodeKey" primary key ("clinicianId", "codeHash"));
CREATE TABLE "incident" ("code" text not null, "cause" text not null, "times" integer not null, "firstAtMs" bigint not null, "lastAtMs" bigint not null, "requestId" text, constraint "incidentKey" primary key ("code", "cause"));
insert into "kysely_migration" values ('0001-prescribing', '2026-11-28T00:22:30.732Z');
insert into "kysely_migration" values ('0002-screening', '2026-11-28T00:22:30.765Z');
insert into "kysely_migration" values ('0003-listening', '2026-11-28T00:22:30.811Z');
insert into "kysely_migration" values ('0004-reminders', '2026-11-28T00:22:30.868Z');
insert into "kysely_migration" values ('0005-follow-up', '2026-11-28T00:22:30.905Z');
insert into "kysely_migration" values ('0006-erasure', '2026-11-28T00:22:30.965Z');
insert into "kysely_migration" values ('0007-notes', '2026-11-28T00:22:30.978Z');
insert into "kysely_migration" values ('0008-note-findings', '2026-11-28T00:22:30.987Z');
insert into "kysely_migration" values ('0009-not-playable', '2026-11-28T00:22:30.989Z');
insert into "kysely_migration" values ('0010-mend-edited-steps', '2026-11-28T00:22:30.997Z');
insert into "kysely_migration" values ('0011-accounts', '2026-11-28T00:22:31.003Z');
insert into "kysely_migration" values ('0012-troubles', '2026-11-28T00:22:31.005Z');
insert into "kysely_migration" values ('0013-signed-checksums', '2026-11-28T00:22:31.011Z');
insert into "kysely_migration_lock" values ('migration_lock', 0);
insert into "clinic" values ('d8d5b86e-f57f-44c4-943b-08b1f5d86b48', 'Quillmere', 'UTC', 1795564800000, '', '', '');
insert into "clinician" values ('c516a4af-0ca8-43bb-8c1d-16b81bf59f08', 'd8d5b86e-f57f-44c4-943b-08b1f5d86b48', 'ada@example.org', 'Ada', 'owner', 'h', null, 0, 1795564800000, null, 0, 0, null, 0);
insert into "invitation" values ('3723b3ae-e408-4f8a-8323-e638c48a791d', null, 'owner', 1795564800000, 1795564800001, 1795564800000);
insert into "patient" values ('9fa4278d-f37b-4519-b9b4-5eea885bce88', 'd8d5b86e-f57f-44c4-943b-08b1f5d86b48', 'Rosa Lind', 'Rosa', '', 1944, 'en', 'UTC', '', '', '', '[]', 'rosa lind', 1795564800000, 1);
insert into "prescription" values ('de711d57-6a89-42fd-af93-1e06be300159', '9fa4278d-f37b-4519-b9b4-5eea885bce88', 'Morning', 'active', 1, 1795564800000, null, '0ad5f21062e5ce0150aca0e5a5215afd2b5e5556a6547d2c44d2984a186839e3');
insert into "prescriptionVersion" values ('de711d57-6a89-42fd-af93-1e06be300159', 1, '{}', 'first program', 'c516a4af-0ca8-43bb-8c1d-16b81bf59f08', 1795564800000, null, '76eac7aea368aeb38984d58c1d2159fa89649b3a2c74aeb24d62af9c7f8c1953');
insert into "screening" values ('earlier-screening', '9fa4278d-f37b-4519-b9b4-5eea885bce88', 77, '{"a":1}', 0, 'c516a4af-0ca8-43bb-8c1d-16b81bf59f08', 1795597200000, '');
insert into "attention" values ('d8d5b86e-f57f-44c4-943b-08b1f5d86b48', '9fa4278d-f37b-4519-b9b4-5eea885bce88', 'to-screen', '9fa4278d-f37b-4519-b9b4-5eea885bce88', 1795564800000);
insert into "listeningLink" values ('earlier-link', 'd8d5b86e-f57f-44c4-943b-08b1f5d86b48', '9fa4278d-f37b-4519-b9b4-5eea885bce88', null, 'earlier code', null, 2, 'c516a4af-0ca8-43bb-8c1d-16b81bf59f08', 1795597200000, 1805597200000, null, null);
insert into "listeningToken" values ('earlier token', 'earlier-link', 'pages', 1795597200000, null, 'earlier-contact');
insert into "listeningStep" values ('earlier-started', '9fa4278d-f37b-4519-b9b4-5eea885bce88', 'de711d57-6a89-42fd-af93-1e06be300159', 1, 1, '2026-11-25#1', 'earlier-link', null, 1795597200000, 1795597200000, 'earlier-listening', 'started', 0, null);
insert into "listeningStep" values ('earlier-finished', '9fa4278d-f37b-4519-b9b4-5eea885bce88', 'de711d57-6a89-42fd-af93-1e06be300159', 1, 1, '2026-11-25#1', 'earlier-link', null, 1795597800000, 1795597200000, 'earlier-listening', 'finished', 600000, null);
insert into "checkIn" values ('earlier-answers', '9fa4278d-f37b-4519-b9b4-5eea885bce88', 'de711d57-6a89-42fd-af93-1e06be300159', 1, 1, '2026-11-25#1', 'earlier-link', null, 1795597200000, 1795597200000, 'earlier-listening', '{"felt":"good"}', 'half');
insert into "contact" values ('earlier-contact', 'd8d5b86e-f57f-44c4-943b-08b1f5d86b48', null, null, 'c516a4af-0ca8-43bb-8c1d-16b81bf59f08', 'mail', '"ada@example.org"', 'earlier address', 'earlier way out', 1795597200000, 1795597200000, 'replaced');
insert into "reminderWatch" values ('9fa4278d-f37b-4519-b9b4-5eea885bce88', 'd8d5b86e-f57f-44c4-943b-08b1f5d86b48', 0, null, null, null, null, null);
insert into "delivery" values ('earlier-delivery', 'earlier key', 'd8d5b86e-f57f-44c4-943b-08b1f5d86b48', '9fa4278d-f37b-4519-b9b4-5eea885bce88', 'warning', null, null, null, 'w0', 'earlier-contact', null, 'sent', 1795597200000, 1795597200000, 1795597200000, 1, null, null, null, null, 1795597200000, null);
insert into "listened" values ('earlier-listening', '9fa4278d-f37b-4519-b9b4-5eea885bce88', 'de711d57-6a89-42fd-af93-1e06be300159', 1, 1, '2026-11-25#1', null, 1795597200000, 1795597200000, 1, 1, null, 7, 7, null, null);
insert into "adviceWatch" values ('9fa4278d-f37b-4519-b9b4-5eea885bce88', 'd8d5b86e-f57f-44c4-943b-08b1f5d86b48', 0, null, null);
CREATE INDEX "patientByName" on "patient" ("clinicId", "searchName", "id");
CREATE INDEX "prescriptionOfPatient" on "prescription" ("patientId", "createdAtMs");
CREATE INDEX "caregiverOfPatient" on "caregiver" ("patientId");
CREATE INDEX "clinicProgramOfClinic" on "clinicProgram" ("clinicId", "title");
CREATE INDEX "attentionOfClinic" on "attention" ("clinicId", "sinceMs");
CREATE UNIQUE INDEX "prescriptionOfWork" on "prescription" ("workId");
CREATE INDEX "prescriptionByState" on "prescription" ("state", "patientId");
CREATE INDEX "caregiverOfPerson" on "caregiver" ("personId");
CREATE UNIQUE INDEX "oneLinkForpatientId" on "listeningLink" ("patientId") where "revokedAtMs" is null;
CREATE UNIQUE INDEX "oneLinkForcaregiverPersonId" on "listeningLink" ("caregiverPersonId") where "revokedAtMs" is null;
CREATE INDEX "tokenOfLink" on "listeningToken" ("linkId", "purpose");
CREATE INDEX "listeningStepOfPatient" on "listeningStep" ("patientId", "atMs");
CREATE INDEX "notTodayOfPatient" on "notToday" ("patientId", "atMs");
CREATE INDEX "checkInOfPatient" on "checkIn" ("patientId", "atMs");
CREATE INDEX "warningOfPatient" on "warning" ("patientId", "atMs");
CREATE INDEX "feedDeliveryOfPatient" on "feedDelivery" ("patientId", "atMs");
CREATE INDEX "listeningStepOfPrescription" on "listeningStep" ("prescriptionId", "slot");
CREATE INDEX "feedDeliveryOfPrescription" on "feedDelivery" ("prescriptionId", "slot");
CREATE INDEX "careBreakOfPatient" on "careBreak" ("patientId");
CREATE INDEX "contactOfpatientId" on "contact" ("patientId");
CREATE UNIQUE INDEX "oneContactOfpatientId" on "contact" ("patientId", "channel", "addressHash") where "endedAtMs" is null;
CREATE INDEX "contactOfcaregiverPersonId" on "contact" ("caregiverPersonId");
CREATE UNIQUE INDEX "oneContactOfcaregiverPersonId" on "contact" ("caregiverPersonId", "channel", "addressHash") where "endedAtMs" is null;
CREATE INDEX "contactOfclinicianId" on "contact" ("clinicianId");
CREATE UNIQUE INDEX "oneContactOfclinicianId" on "contact" ("clinicianId", "channel", "addressHash") where "endedAtMs" is null;
CREATE INDEX "watchToPlan" on "reminderWatch" ("planAtMs");
CREATE INDEX "warningToDo" on "delivery" ("nextAtMs") where "kind" = 'warning' and "state" in ('waiting', 'sending');
CREATE INDEX "deliveryOfPatient" on "delivery" ("patientId", "forAtMs");
CREATE INDEX "deliveryFailedFor" on "delivery" ("patientId") where "state" = 'failed' and "seenAtMs" is null;
CREATE INDEX "deliveryToSee" on "delivery" ("clinicId", "settledAtMs") where "state" = 'failed';
CREATE INDEX "tokenOfContact" on "listeningToken" ("contactId");
CREATE INDEX "listenedByPatient" on "listened" ("patientId", "startedAtMs");
CREATE INDEX "stepOfListening" on "listeningStep" ("listeningId");
CREATE INDEX "measureTakenOf" on "measureTaken" ("patientId", "takenOn");
CREATE INDEX "ownMeasureOf" on "ownMeasure" ("clinicId");
CREATE INDEX "adviceAnswerOf" on "adviceAnswer" ("patientId", "atMs");
CREATE INDEX "adviceToLookAt" on "adviceWatch" ("lookAtMs");
CREATE INDEX "progressNoteOf" on "progressNote" ("patientId", "atMs");
CREATE INDEX "erasureOfClinic" on "erasure" ("clinicId", "atMs");
CREATE INDEX "auditOfClinic" on "auditEntry" ("clinicId", "sequence");
CREATE INDEX "auditOfPatient" on "auditEntry" ("patientId", "sequence");
CREATE INDEX "noteOfPatient" on "note" ("patientId");
CREATE INDEX "noteReadOfPatient" on "noteRead" ("patientId");
CREATE INDEX "notPlayableOfPatient" on "notPlayable" ("patientId");
CREATE INDEX "watchToMake" on "reminderWatch" ("nextDueAtMs") where ("madeForMs" is null or "madeForMs" < "nextDueAtMs");
CREATE INDEX "deliveryToDo" on "delivery" ("nextAtMs") where "state" in ('waiting', 'sending');
CREATE INDEX "accountLinkOfClinician" on "accountLink" ("clinicianId");
CREATE TRIGGER "prescriptionStateNeverupdate" before update on "prescriptionState"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "consentNeverupdate" before update on "consent"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "listeningStepNeverupdate" before update on "listeningStep"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "notTodayNeverupdate" before update on "notToday"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "checkInNeverupdate" before update on "checkIn"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "warningNeverupdate" before update on "warning"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "feedDeliveryNeverupdate" before update on "feedDelivery"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "warningAnswerNeverupdate" before update on "warningAnswer"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "measureTakenNeverupdate" before update on "measureTaken"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "measureWithdrawnNeverupdate" before update on "measureWithdrawn"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "adviceAnswerNeverupdate" before update on "adviceAnswer"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "progressNoteNeverupdate" before update on "progressNote"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "erasureNeverupdate" before update on "erasure"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "erasureNeverdelete" before delete on "erasure"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "screeningNeverdelete" before delete on "screening"
      when not exists (select 1 from "erasure" where "erasure"."patientId" = old."patientId")
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "consentNeverdelete" before delete on "consent"
      when not exists (select 1 from "erasure" where "erasure"."patientId" = old."patientId")
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "listeningStepNeverdelete" before delete on "listeningStep"
      when not exists (select 1 from "erasure" where "erasure"."patientId" = old."patientId")
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "notTodayNeverdelete" before delete on "notToday"
      when not exists (select 1 from "erasure" where "erasure"."patientId" = old."patientId")
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "checkInNeverdelete" before delete on "checkIn"
      when not exists (select 1 from "erasure" where "erasure"."patientId" = old."patientId")
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "warningNeverdelete" before delete on "warning"
      when not exists (select 1 from "erasure" where "erasure"."patientId" = old."patientId")
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "feedDeliveryNeverdelete" before delete on "feedDelivery"
      when not exists (select 1 from "erasure" where "erasure"."patientId" = old."patientId")
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "measureTakenNeverdelete" before delete on "measureTaken"
      when not exists (select 1 from "erasure" where "erasure"."patientId" = old."patientId")
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "adviceAnswerNeverdelete" before delete on "adviceAnswer"
      when not exists (select 1 from "erasure" where "erasure"."patientId" = old."patientId")
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "progressNoteNeverdelete" before delete on "progressNote"
      when not exists (select 1 from "erasure" where "erasure"."patientId" = old."patientId")
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "prescriptionVersionNeverdelete" before delete on "prescriptionVersion"
      when not exists (select 1 from "prescription" join "erasure" on "erasure"."patientId" = "prescription"."patientId"
    where "prescription"."id" = old."prescriptionId")
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "prescriptionStateNeverdelete" before delete on "prescriptionState"
      when not exists (select 1 from "prescription" join "erasure" on "erasure"."patientId" = "prescription"."patientId"
    where "prescription"."id" = old."prescriptionId")
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "warningAnswerNeverdelete" before delete on "warningAnswer"
      when not exists (select 1 from "warning" join "erasure" on "erasure"."patientId" = "warning"."patientId"
    where "warning"."id" = old."warningId")
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "measureWithdrawnNeverdelete" before delete on "measureWithdrawn"
      when not exists (select 1 from "measureTaken" join "erasure" on "erasure"."patientId" = "measureTaken"."patientId"
    where "measureTaken"."id" = old."measureTakenId")
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "auditEntryNeverupdate" before update on "auditEntry"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "auditEntryNeverdelete" before delete on "auditEntry"
      begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "noteReadNeverupdate" before update on "noteRead"
    begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "noteReadNeverdelete" before delete on "noteRead"
    when not exists (select 1 from "erasure" where "erasure"."patientId" = old."patientId")
    begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "prescriptionVersionNeverupdate" before update on "prescriptionVersion"
    begin select raise(abort, 'rows of this table are never changed'); end;
CREATE TRIGGER "screeningNeverupdate" before update on "screening"
    begin select raise(abort, 'rows of this table are never changed'); end;
