import { randomUUID } from 'node:crypto';
import { mkdir, rm, statfs, writeFile } from 'node:fs/promises';
import { connect } from 'node:net';
import { join } from 'node:path';
import { sql } from 'kysely';
import { type MailSettings, mailSettings } from '../channels/mailSettings.js';
import { type MailSignIn, tryMailSignIn } from '../channels/mailSignIn.js';
import { settingOf } from '../channels/settingProblem.js';
import { findFfmpeg } from '../ffmpeg/findFfmpeg.js';
import { cannotWrite } from '../files/fileProblem.js';
import { maskedValue } from '../settings/masked.js';
import { hasClinic } from '../store/accounts/clinicians.js';
import type { Db, StoreSettings } from '../store/engine/openStore.js';
import { migrationsFor } from '../store/schema/migrations.js';
import { commandSetting, commandVariable } from '../voice/commandSetting.js';
import { isModuleHere, moduleMissing } from '../voice/embedded/moduleFile.js';
import { findProgram } from '../voice/programs/findProgram.js';
import type { ZoneData } from '../zones/zoneData.js';
import { type Check, type Finding, fault, ok, warning } from './check.js';
import { checkZones } from './zoneCheck.js';

/** All the checks together take at most as long as the slowest of them. */
export const quickMs = 1_800;

const usualMailMs = 1_500;
const firstYear = 2026;
const leastBytes = 200e6;
const fewBytes = 2e9;

export type QuickParts = {
  environment: NodeJS.ProcessEnv;
  dataFolder: string;
  /** Where backups will be stored; null if there are none. */
  backupFolder: string | null;
  database: StoreSettings;
  /** Reads the database, from a separate process or from the service itself. */
  read: <Result>(work: (db: Db) => Promise<Result>) => Promise<Result>;
  /** The release of the time zone data that times are computed with. */
  zoneData: () => Promise<ZoneData>;
  /** Epoch milliseconds. */
  now: () => number;
  /** How long signing in to a mail server may take; a little less than a check may take by default. */
  mailMs?: number | undefined;
};

/** The checks that take no time: whether sessions can be rendered, stored and sent reminders for. */
export function quickChecks(parts: QuickParts): Check[] {
  const { backupFolder } = parts;
  return [
    { name: 'encoder', look: lookAtEncoder },
    { name: 'voice', look: () => lookAtVoice(parts) },
    { name: 'disk', look: () => lookAtDisk(parts.dataFolder) },
    { name: 'clock', look: async () => checkClock(parts.now()) },
    { name: 'time zones', look: () => checkZones(parts) },
    { name: 'database', look: () => lookAtDatabase(parts) },
    { name: 'schema', look: () => lookAtSchema(parts) },
    { name: 'channels', look: () => lookAtChannels(parts) },
    ...(backupFolder === null
      ? []
      : [{ name: 'backup folder' as const, look: () => lookAtBackupFolder(backupFolder) }]),
  ];
}

async function lookAtEncoder(): Promise<Finding> {
  return ok(`${(await findFfmpeg()).path} encodes MP3`);
}

async function lookAtVoice({ environment }: QuickParts): Promise<Finding> {
  if (!(await isModuleHere())) throw moduleMissing();
  const here = 'both embedded voices are available';
  const [program] = commandSetting(environment) ?? [];
  if (program === undefined) return ok(here);
  const path = findProgram(program);
  if (path !== null) return ok(`${here}, and ${path} for the voice "command"`);
  return warning(
    `${here}, but not ${program}, the program of the voice "command": sessions with it cannot be made`,
    `give its full path in ${commandVariable}, or unset ${commandVariable}`,
  );
}

/** Checks that a folder's disk has room for new files. */
async function lookAtDisk(folder: string): Promise<Finding> {
  const { bavail, bsize } = await statfs(folder);
  return judgeFreeSpace(bavail * bsize, folder);
}

/** Decides whether there is enough free space. */
export function judgeFreeSpace(freeBytes: number, folder: string): Finding {
  const found = `${(freeBytes / 1e9).toFixed(1)} GB free in ${folder}`;
  if (freeBytes < leastBytes) return fault(found, 'free space now: soon nothing can be saved');
  return freeBytes < fewBytes ? warning(found, 'free space before the disk is full') : ok(found);
}

/**
 * Creates the folder if it is missing and writes a file into it, because permissions alone do not prove that it works.
 */
async function lookAtBackupFolder(folder: string): Promise<Finding> {
  const probe = join(folder, `.probe-${randomUUID()}`);
  try {
    await mkdir(folder, { recursive: true, mode: 0o700 });
    await writeFile(probe, 'written to see whether it can be', { flag: 'wx', mode: 0o600 });
    await rm(probe);
  } catch (error) {
    await rm(probe, { force: true }).catch(() => undefined);
    throw cannotWrite(
      folder,
      error,
      'give this user write permission, or set STILLCOUNT_BACKUPS to another folder',
    );
  }
  return ok(`${folder} is writable`);
}

/** Catches a clock that starts years in the past, as on a machine without a battery for it. */
export function checkClock(nowMs: number): Finding {
  const found = `${new Date(nowMs).toISOString().slice(0, 16)}Z`;
  if (new Date(nowMs).getUTCFullYear() >= firstYear) return ok(found);
  return fault(
    `${found} is before this version was released: reminders would be sent at the wrong times`,
    'set this machine’s clock, then start again',
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
      'start the service: it upgrades the database',
    );
  }
  return ok(`up to date (${known.at(-1)})`);
}

async function lookAtChannels({ environment, mailMs = usualMailMs }: QuickParts): Promise<Finding> {
  const mail = mailSettings(environment);
  const text = settingOf(environment, 'STILLCOUNT_TEXT_URL');
  const findings = await Promise.all([
    mail === null
      ? warning(
          'no mail server is set up: warning signs are not emailed to clinicians, and appear only on the home page',
          'set STILLCOUNT_MAIL_URL and STILLCOUNT_MAIL_FROM',
        )
      : lookAtMail(mail, mailMs),
    ...(text === null || !URL.canParse(text) ? [] : [lookAtGateway(new URL(text))]),
  ]);
  const worst =
    findings.find(({ state }) => state === 'fault') ?? findings.find(({ state }) => state === 'warning');
  const found = findings.map((each) => each.found).join('; ');
  return worst === undefined ? ok(found) : { ...worst, found };
}

/** What to do about a mail server, by the result of trying to sign in. */
const mailFindings: Readonly<Record<MailSignIn, (server: string, hasName: boolean) => Finding>> = {
  in: (server, hasName) =>
    ok(`the mail server ${server} answers${hasName ? ' and accepts the sign-in' : ''}`),
  slow: (server) =>
    warning(
      `the mail server ${server} has not answered yet: it may only be slow`,
      'run "stillcount doctor", which waits longer',
    ),
  silent: (server) =>
    fault(
      `messages cannot be sent: the mail server ${server} does not answer`,
      'correct STILLCOUNT_MAIL_URL or start the server; messages wait until then, and warning signs appear only on the home page',
    ),
  'sign-in-refused': (server) =>
    fault(
      `could not sign in: the mail server ${server} rejected the user name or password; no email will be sent`,
      'correct the user name and password in STILLCOUNT_MAIL_URL; until then, warning signs appear only on the home page',
    ),
  'not-encrypted': (server) =>
    fault(
      `could not sign in: the mail server ${server} offers no trusted encryption; no email will be sent`,
      'use smtps:// or another port in STILLCOUNT_MAIL_URL, or renew the server’s certificate',
    ),
  refused: (server) =>
    fault(
      `could not sign in: the mail server ${server} refused the connection; no email will be sent`,
      'correct the host and port in STILLCOUNT_MAIL_URL, or ask the administrator of the mail server',
    ),
};

async function lookAtMail(mail: MailSettings, mailMs: number): Promise<Finding> {
  const server = `${mail.host}:${mail.port}`;
  return mailFindings[await tryMailSignIn(mail, mailMs)](server, mail.auth !== null);
}

async function lookAtGateway(url: URL): Promise<Finding> {
  const door = doorOf(url);
  const place = `${door.host}:${door.port}`;
  if (await opens(door)) return ok(`the gateway ${place} answers`);
  return fault(
    `messages cannot be sent: the gateway ${place} does not answer`,
    'correct STILLCOUNT_TEXT_URL or start the gateway; messages wait until then',
  );
}

function doorOf({ hostname, port, protocol }: URL) {
  const usual = protocol === 'https:' ? 443 : 80;
  return {
    host: hostname.replace(/^\[(.*)\]$/, '$1'),
    port: port === '' ? usual : Number(port),
  };
}

/** Checks whether a port accepts connections, within slightly less time than a check may take. */
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
