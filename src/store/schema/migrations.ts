import type { Migration, MigrationProvider } from 'kysely';
import { prescribing } from './migrations/0001-prescribing.js';
import { screening } from './migrations/0002-screening.js';
import { listening } from './migrations/0003-listening.js';
import { reminders } from './migrations/0004-reminders.js';
import { followUp } from './migrations/0005-follow-up.js';
import { erasure } from './migrations/0006-erasure.js';
import { notes } from './migrations/0007-notes.js';
import { noteFindings } from './migrations/0008-note-findings.js';
import { notPlayable } from './migrations/0009-not-playable.js';
import { mendEditedSteps } from './migrations/0010-mend-edited-steps.js';
import { accounts } from './migrations/0011-accounts.js';
import { troubles } from './migrations/0012-troubles.js';
import { signedChecksums } from './migrations/0013-signed-checksums.js';
import type { DatabaseKind } from './migrations/databaseKind.js';

export type { DatabaseKind } from './migrations/databaseKind.js';

/** All migrations, by name; names only grow. A released migration is never edited. */
export function migrationsFor(kind: DatabaseKind): MigrationProvider {
  const migrations: Record<string, Migration> = {
    '0001-prescribing': { up: (db) => prescribing(db, kind) },
    '0002-screening': { up: (db) => screening(db, kind) },
    '0003-listening': { up: (db) => listening(db, kind) },
    '0004-reminders': { up: (db) => reminders(db, kind) },
    '0005-follow-up': { up: (db) => followUp(db, kind) },
    '0006-erasure': { up: (db) => erasure(db, kind) },
    '0007-notes': { up: (db) => notes(db, kind) },
    '0008-note-findings': { up: noteFindings },
    '0009-not-playable': { up: notPlayable },
    '0010-mend-edited-steps': { up: mendEditedSteps },
    '0011-accounts': { up: accounts },
    '0012-troubles': { up: troubles },
    '0013-signed-checksums': { up: (db) => signedChecksums(db, kind) },
  };
  return { getMigrations: async () => migrations };
}
