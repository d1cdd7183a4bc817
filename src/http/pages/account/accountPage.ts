import { signInName } from '../../../clinic/accounts/account.js';
import { totpAddress } from '../../../clinic/accounts/totp.js';
import { accessKeysOf } from '../../../store/accounts/accessKeys.js';
import { countRecoveryCodes } from '../../../store/accounts/recoveryCodes.js';
import { signInsOf } from '../../../store/accounts/signInSessions.js';
import { wantsDigest } from '../../../store/reminding/weeks.js';
import { dayInWords, timeInWords } from '../../../text/dates.js';
import { keptDevice } from '../../../text/device.js';
import type { HttpResources } from '../../server/resources.js';
import { type AuthenticatedRequest, idleMs, type PageReply } from '../../server/routing.js';

/** At this number of recovery codes, the page suggests making new ones. */
const fewCodes = 3;

/** What the account page shows besides the account's own data. */
export type Shown = {
  setUp?: { secret: string; failed?: string };
  newKey?: string;
  /** New recovery codes, shown only this once. */
  newCodes?: readonly string[];
  /** Why nothing was changed. */
  refused?: string;
  done?: string;
};

/**
 * A member's own account: credentials, weekly summary, two-step verification, keys for other programs, and sign-ins.
 */
export async function accountPage(
  { store, words, channelNames }: Pick<HttpResources, 'store' | 'words' | 'channelNames'>,
  { clinician, mayWrite, tokenHash: ownHash, nowMs }: AuthenticatedRequest,
  { setUp, newKey, newCodes, refused, done }: Shown = {},
): Promise<PageReply> {
  const { id, clinicZone } = clinician;
  const { keys, isWanted, codesLeft, signIns } = await store.read(async (db) => ({
    keys: await accessKeysOf(db, id),
    isWanted: await wantsDigest(db, id),
    codesLeft: await countRecoveryCodes(db, id),
    signIns: await signInsOf(db, id, { nowMs, idleMs }),
  }));
  const day = (atMs: number) => dayInWords(atMs, clinicZone);
  return {
    kind: 'page',
    page: 'account',
    status: setUp?.failed === undefined && refused === undefined ? 200 : 400,
    view: {
      clinician,
      mayWrite,
      wantsDigest: isWanted,
      sendsMail: channelNames.has('mail'),
      hasSecondStep: clinician.totpSecret !== null || newCodes !== undefined,
      asksForCode: clinician.totpSecret !== null || newCodes !== undefined,
      codesLeft,
      hasFewCodes: codesLeft <= fewCodes,
      hasNewCodes: newCodes !== undefined,
      newCodes,
      setUp:
        setUp === undefined
          ? null
          : {
              ...setUp,
              shown: setUp.secret.replaceAll(/(.{4})(?=.)/g, '$1 '),
              address: totpAddress(setUp.secret, clinician.email),
            },
      newKey,
      refused,
      done,
      hasKeys: keys.length > 0,
      keys: keys.map((key) => ({
        ...key,
        made: day(key.createdAtMs),
        used: key.lastSeenAtMs === null ? null : day(key.lastSeenAtMs),
      })),
      hasOthers: signIns.length > 1,
      signIns: signIns.map(({ tokenHash, device, createdAtMs, lastSeenAtMs }) => {
        const { browser, system } = keptDevice(device);
        return {
          name: signInName(tokenHash),
          isThis: tokenHash === ownHash,
          browser: words.browsers[browser],
          system: words.systems[system],
          begun: timeInWords(createdAtMs, clinicZone),
          seen: timeInWords(lastSeenAtMs, clinicZone),
        };
      }),
    },
  };
}
