import { type Problem, workError } from '../../errors/stillcountError.js';
import { errorCodeOf } from '../../files/fileProblem.js';
import { maskedValue } from '../../settings/masked.js';
import { openStore, type Store, type StoreSettings } from '../engine/openStore.js';

/**
 * What a server or the network responds, by its code (PostgreSQL, Appendix A; Node.js), with what the person starting
 * the service can do.
 */
const refusals: readonly [RegExp, Pick<Problem, 'message' | 'hint'>][] = [
  [
    /^ECONNREFUSED$/,
    {
      message: 'the database cannot be reached: nothing answers at its host and port',
      hint: 'start PostgreSQL, or correct host and port',
    },
  ],
  [
    /^(ENOTFOUND|EAI_AGAIN)$/,
    {
      message: 'the database cannot be reached: its host name cannot be resolved',
      hint: 'correct the host, or this machine’s DNS',
    },
  ],
  [
    /^(ETIMEDOUT|EHOSTUNREACH|ENETUNREACH)$/,
    {
      message: 'the database cannot be reached: its host does not answer',
      hint: 'check that it is running and that no firewall blocks it',
    },
  ],
  [
    /^(57P0[12]|08\w{3}|ECONNRESET|EPIPE)$/,
    {
      message: 'the database server closed the connection while it was being opened',
      hint: 'check the server’s log, host and port: another program may be answering there',
    },
  ],
  [/^57P03$/, { message: 'the database server is still starting', hint: 'try again in a minute' }],
  [
    /^53300$/,
    {
      message: 'the database server accepts no more connections',
      hint: 'stop whatever else uses it, or raise max_connections on the server',
    },
  ],
  [
    /^28/,
    {
      message: 'the database refuses this user or password',
      hint: 'correct user and password, or let the user in on the server (pg_hba.conf)',
    },
  ],
  [
    /^3D000$/,
    {
      message: 'the server has no database with this name',
      hint: 'create it, or correct the name',
    },
  ],
  [
    /^(DEPTH_ZERO_SELF_SIGNED_CERT|SELF_SIGNED_CERT_IN_CHAIN|UNABLE_TO_(VERIFY_LEAF_SIGNATURE|GET_ISSUER_CERT(_LOCALLY)?)|CERT_HAS_EXPIRED|ERR_TLS_CERT_ALTNAME_INVALID)$/,
    {
      message: 'the certificate of the database is not trusted',
      hint: 'set sslrootcert=FILE in the address to the certificate of its issuer; the host must match the certificate, and the certificate must not have expired',
    },
  ],
  [
    /^42501$/,
    {
      message: 'this user may not create tables in the database',
      hint: 'make the user the owner of the database',
    },
  ],
];

/** Messages of PostgreSQL's driver that have no code, and the code each corresponds to; the first match wins. */
const saidWithoutCode: readonly [RegExp, string][] = [
  [/timeout exceeded when trying to connect|due to connection timeout/i, 'ETIMEDOUT'],
  [/connection terminated|connection ended/i, 'ECONNRESET'],
];

/**
 * Opens the database of a starting service, and explains what is wrong with an unusable server.
 *
 * @param onUpgrade as for `openStore`
 * @throws StillcountError as `openStore`
 */
export async function openAtStart(
  settings: StoreSettings,
  onUpgrade?: (copy?: string) => void,
): Promise<Store> {
  try {
    return await openStore(settings, undefined, onUpgrade);
  } catch (error) {
    if (settings.kind === 'sqlite') throw error;
    throw refusedAtStart(error, maskedValue('DATABASE_URL', settings.url)) ?? error;
  }
}

function refusedAtStart(error: unknown, found: string) {
  for (const cause of causesOf(error)) {
    const message = cause instanceof Error ? cause.message : '';
    const codeOfMessage = saidWithoutCode.find(([pattern]) => pattern.test(message))?.[1];
    const code = codeOfMessage ?? errorCodeOf(cause) ?? '';
    const known = refusals.find(([pattern]) => pattern.test(code))?.[1];
    if (known === undefined) continue;
    return workError({ file: 'environment', path: 'DATABASE_URL', found, ...known }, error);
  }
  return null;
}

function* causesOf(error: unknown): Iterable<unknown> {
  for (let each = error; each !== undefined && each !== null; ) {
    yield each;
    each = each instanceof Error ? each.cause : null;
  }
}
