import { randomUUID } from 'node:crypto';
import { join } from 'node:path';
import { inspectSession } from '../audio/inspect/inspectSession.js';
import { renderSession } from '../audio/renderSession.js';
import { openMail } from '../channels/mail.js';
import { inTemporaryFolder } from '../files/temporaryFolder.js';
import { promptScript } from '../session/promptScript.js';
import { readProgramFile } from '../session/readProgramFile.js';
import type { Settings } from '../session/settings.js';
import { openWorkshop } from '../session/workshop.js';
import { findDamage, mendDamage } from '../store/engine/damage.js';
import { readSnapshot, type StoreSettings } from '../store/engine/openStore.js';
import { verifySigned } from '../store/prescribing/verifySigned.js';
import { restore } from '../store/service/backup.js';
import { dailyBackups, datedBackups } from '../store/service/dailyBackup.js';
import { dayMs } from '../time/units.js';
import { type Check, type Finding, fault, ok, warning } from './check.js';

/** Long enough for a voice on a slow machine, a slow mail server or a large backup. */
export const longMs = 10 * 60_000;

export type LongParts = {
  environment: NodeJS.ProcessEnv;
  database: StoreSettings;
  folders: Settings & { backupFolder: string };
  /** The address for a test email; null for none. */
  mailTo: string | null;
  /** Epoch milliseconds. */
  now: () => number;
};

/** The checks that take a while: a session rendered and measured, an email sent, the newest backup restored. */
export function longChecks(parts: LongParts): Check[] {
  const { database, mailTo } = parts;
  return [
    ...(database.kind === 'sqlite'
      ? [{ name: 'database file' as const, look: () => lookAtDatabaseFile(database) }]
      : []),
    { name: 'signed', look: () => lookAtWhatIsSigned(database) },
    { name: 'session', look: () => lookAtSession(parts.folders) },
    ...(mailTo === null ? [] : [{ name: 'test mail' as const, look: () => sendTestMail(parts, mailTo) }]),
    { name: 'backup', look: () => lookAtBackups(parts) },
    { name: 'restore', look: () => restoreNewest(parts) },
  ];
}

/** Checks every page of the database file, however large it is. */
async function lookAtDatabaseFile(database: StoreSettings & { kind: 'sqlite' }): Promise<Finding> {
  const found = await readSnapshot(database, findDamage);
  if (found === null) return ok(`${database.file} is intact`);
  return fault(`${database.file} is damaged (${found})`, `stop the service, ${mendDamage}`);
}

const mostNamed = 5;

/** Compares each version and interview with the checksum that was stored when it was signed or recorded. */
async function lookAtWhatIsSigned(database: StoreSettings): Promise<Finding> {
  const look = await readSnapshot(database, verifySigned);
  const { versions, screenings, runningPrograms, damagedPrograms, damagedScreenings } = look;
  const damaged = [...damagedPrograms, ...damagedScreenings];
  if (damaged.length === 0) {
    return ok(
      `${versions} signed versions (${runningPrograms} programs in use) and ${screenings} interviews match what was signed`,
    );
  }
  const named = damaged.slice(0, mostNamed).join(', ');
  const more = damaged.length > mostNamed ? ` and ${damaged.length - mostNamed} more` : '';
  return fault(
    `damaged: ${damagedPrograms.length} programs, ${damagedScreenings.length} interviews (${named}${more})`,
    'a clinician signs or screens again where the home page says so, or restore a backup from before the damage; if more appears, replace the disk',
  );
}

/** Nobody hears these words: about ten seconds, with the sounds that voices find hard. */
const testWords =
  'This is a test of the voice and of the encoder. Lie on your back, with your knees bent. ' +
  'Breathe in slowly, and breathe out.';

async function lookAtSession({ templatesFolder }: Settings): Promise<Finding> {
  return inTemporaryFolder('doctor', async (dataFolder) => {
    // In an empty data folder, so that the voice and the encoder really run.
    const workshop = await openWorkshop({ dataFolder, templatesFolder });
    const program = await readProgramFile(join(workshop.startersFolder, 'first.yaml'), workshop);
    const { script, clips } = await promptScript(program, testWords, workshop);
    const audio = await renderSession(script, clips, workshop.segments);
    const inspection = await inspectSession(Buffer.concat([...audio.chunks()]), script);
    const seconds = Math.round(script.durationMs / 1000);
    const failed = inspection.rows.filter((row) => !row.ok);
    if (failed.length === 0) {
      return ok(`${seconds} s spoken, encoded and measured: all ${inspection.rows.length} checks passed`);
    }
    return fault(
      `${seconds} s spoken and encoded, but checks failed: ${failed.map(({ title, measured }) => `${title} ${measured}`).join(', ')}`,
      'install another ffmpeg, or set STILLCOUNT_FFMPEG',
    );
  });
}

async function sendTestMail({ environment }: LongParts, mailTo: string): Promise<Finding> {
  const mail = await openMail(environment);
  if (mail === null) {
    return fault('no mail server is set up', 'set STILLCOUNT_MAIL_URL and STILLCOUNT_MAIL_FROM');
  }
  const message = {
    key: `doctor-${randomUUID()}`,
    language: 'en',
    kind: 'digest',
    subject: 'Test of Stillcount',
    text: 'This is a test. Email from Stillcount reaches you. There is nothing to do.',
    short: 'This is a test. Email from Stillcount reaches you.',
    link: null,
    unsubscribe: null,
    isUrgent: false,
    goodForSeconds: 3_600,
  } as const;
  try {
    const outcome = await mail.send(mailTo, message, AbortSignal.timeout(longMs));
    return outcome.outcome === 'sent'
      ? ok('the mail server accepted the test email; check that it arrived')
      : fault(
          outcome.outcome === 'unknown'
            ? 'the mail server did not say whether it accepted the test email'
            : `the mail server did not accept it: ${outcome.why}`,
          'correct STILLCOUNT_MAIL_URL or the address',
        );
  } finally {
    await mail.close();
  }
}

/** Backups dated in the future count only if there are no others. */
async function backupsIn(folder: string, nowMs: number) {
  const { right, ahead } = datedBackups(await dailyBackups(folder), nowMs);
  return { all: [...right, ...ahead], ahead };
}

async function lookAtBackups({ folders: { backupFolder }, now }: LongParts): Promise<Finding> {
  const nowMs = now();
  const { all, ahead } = await backupsIn(backupFolder, nowMs);
  const [newest] = all;
  if (newest === undefined) {
    return warning(
      `there is no daily backup in ${backupFolder}`,
      'keep the service running: it makes one when it starts and then every day',
    );
  }
  const days = Math.max(0, nowMs - newest.madeAtMs) / dayMs;
  const age =
    all.length === ahead.length ? 'none dated before now' : `the newest ${days.toFixed(1)} days old`;
  const found = `${all.length} in ${backupFolder}, ${age}`;
  if (ahead.length > 0) {
    const last = new Date(ahead[0]?.madeAtMs ?? 0).toISOString().slice(0, 10);
    return warning(
      `${found}; ${ahead.length} dated later than this computer’s clock, up to ${last}`,
      'check the clock; if it is right, they were made while it was wrong, and will be deleted first',
    );
  }
  return days < 2 ? ok(found) : warning(found, 'check the service log to see why no newer one was made');
}

async function restoreNewest({ folders: { backupFolder }, now }: LongParts): Promise<Finding> {
  const [newest] = (await backupsIn(backupFolder, now())).all;
  if (newest === undefined)
    return warning('there is nothing to restore', 'run this again after the first backup');
  return inTemporaryFolder('doctor', async (folder) => {
    const rows = await restore(newest.file, { kind: 'sqlite', file: join(folder, 'clinic.db') });
    return ok(`the newest backup was restored into a scratch database: ${rows} rows`);
  });
}
