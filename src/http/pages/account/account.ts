import { z } from 'zod';
import {
  changeEmail,
  changePassword,
  endOthers,
  endSignInNamed,
  isHerself,
  isSurelyHerself,
} from '../../../clinic/accounts/account.js';
import { askForDigest } from '../../../clinic/accounts/digest.js';
import { endKey, makeKey } from '../../../clinic/accounts/keys.js';
import { passwordSchema } from '../../../clinic/accounts/passwords.js';
import {
  remakeRecoveryCodes,
  turnOffSecondStep,
  turnOnSecondStep,
} from '../../../clinic/accounts/secondStep.js';
import { newTotpSecret, totpStep } from '../../../clinic/accounts/totp.js';
import { emailSchema, emailTaken, line, parsedForm } from '../../../clinic/values.js';
import { sentenceOf } from '../../../text/refusalWords.js';
import { passwordIn, proofIn } from '../../forms/credentials.js';
import { field } from '../../forms/fields.js';
import type { HttpResources } from '../../server/resources.js';
import { type AuthenticatedRequest, idleMs, type PageReply, Routes } from '../../server/routing.js';
import { accountPage, type Shown } from './accountPage.js';

const wrongPassword = 'This is not your password, or it was tried too often. Nothing was changed.';
const notSure =
  'The password or code is incorrect, the code was already used, or there were too many tries. Nothing was changed.';

/** A member's own account: credentials, weekly summary, two-step verification, keys, and sign-ins. */
export function accountRoutes(
  service: Pick<
    HttpResources,
    'store' | 'pages' | 'words' | 'assets' | 'limits' | 'reminderSecrets' | 'channelNames' | 'now' | 'https'
  >,
): Routes {
  const page = (visit: AuthenticatedRequest, shown?: Shown): Promise<PageReply> =>
    accountPage(service, visit, shown);

  return new Routes(service)
    .authenticatedRoute('get', '/account', (visit) => page(visit))
    .authenticatedRoute('post', '/account/digest', async (visit) => {
      await askForDigest(service, visit, field(visit.fields, 'wants') === 'yes');
      return { kind: 'redirect', to: '/account#digest' };
    })
    .authenticatedRoute('post', '/account/password', async (visit) => {
      const chosen = passwordSchema.safeParse(passwordIn(visit.fields, 'newPassword'));
      if (!chosen.success) {
        const needed = chosen.error.issues.map(({ message }) => message).join(', ');
        return page(visit, { refused: `The new password has to be ${needed}. Nothing was changed.` });
      }
      if (!(await isSurelyHerself(service, visit, proofIn(visit)))) return page(visit, { refused: notSure });
      await changePassword(service, visit, chosen.data);
      return page(visit, { done: 'Your password is changed, and every other sign-in has ended.' });
    })
    .authenticatedRoute('post', '/account/email', async (visit) => {
      const email = emailSchema.safeParse(field(visit.fields, 'newEmail'));
      if (!email.success)
        return page(visit, { refused: 'Please give an email address. Nothing was changed.' });
      if (!(await isSurelyHerself(service, visit, proofIn(visit)))) return page(visit, { refused: notSure });
      if (!(await changeEmail(service, visit, email.data))) {
        return page(visit, {
          refused: `${sentenceOf(service.words.refusals, emailTaken)}. Nothing was changed.`,
        });
      }
      const clinician = { ...visit.clinician, email: email.data.toLowerCase() };
      const done = `You sign in with ${clinician.email} from now on, and every other sign-in has ended.`;
      return page({ ...visit, clinician }, { done });
    })
    .authenticatedRoute('post', '/account/second-step', async (visit) => {
      const secret = field(visit.fields, 'secret');
      if (secret === '') return page(visit, { setUp: { secret: newTotpSecret() } });
      if (visit.clinician.totpSecret !== null) return page(visit);
      if (!(await isHerself(service, visit, proofIn(visit))))
        return page(visit, { setUp: { secret, failed: wrongPassword } });
      // The secret was generated here a moment ago; a different one would only weaken the sender's own account.
      const step = /^[A-Z2-7]{32}$/.test(secret)
        ? totpStep(secret, field(visit.fields, 'code'), visit.nowMs)
        : null;
      if (step !== null) {
        return page(visit, { newCodes: await turnOnSecondStep(service, visit, { secret, step }) });
      }
      const failed = 'This code is not right. Take the one that is shown now.';
      return page(visit, { setUp: { secret, failed } });
    })
    .authenticatedRoute('post', '/account/no-second-step', async (visit) => {
      if (visit.clinician.totpSecret === null) return page(visit);
      if (!(await isSurelyHerself(service, visit, proofIn(visit)))) return page(visit, { refused: notSure });
      await turnOffSecondStep(service, visit);
      return { kind: 'redirect', to: '/account' };
    })
    .authenticatedRoute('post', '/account/recovery-codes', async (visit) => {
      if (visit.clinician.totpSecret === null) return page(visit);
      if (!(await isSurelyHerself(service, visit, proofIn(visit)))) return page(visit, { refused: notSure });
      return page(visit, { newCodes: await remakeRecoveryCodes(service, visit) });
    })
    .authenticatedRoute('post', '/account/sign-ins/end-others', async (visit) => {
      await endOthers(service, visit);
      return { kind: 'redirect', to: '/account#sign-ins' };
    })
    .authenticatedRoute('post', '/account/sign-ins/:name/end', async (visit) => {
      await endSignInNamed(service, visit, { name: visit.params.name ?? '', idleMs });
      return { kind: 'redirect', to: '/account#sign-ins' };
    })
    .authenticatedRoute('post', '/account/keys', async (visit) => {
      const key = { name: field(visit.fields, 'name'), mayWrite: field(visit.fields, 'mayWrite') === 'yes' };
      if (!(await isHerself(service, visit, proofIn(visit)))) return page(visit, { refused: wrongPassword });
      const schema = z.object({ name: line(100), mayWrite: z.boolean() });
      return page(visit, { newKey: await makeKey(service, visit, parsedForm(schema, key)) });
    })
    .authenticatedRoute('post', '/account/keys/:id/end', async (visit) => {
      await endKey(service, visit, visit.params.id ?? '');
      return { kind: 'redirect', to: '/account#keys' };
    });
}
