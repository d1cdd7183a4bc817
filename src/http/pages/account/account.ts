import { z } from 'zod';
import type { AccountResources } from '../../../clinic/accounts/account.js';
import {
  changeEmail,
  changePassword,
  endNamedSignIn,
  isIdentityProven,
  isPasswordCorrect,
  signOutElsewhere,
} from '../../../clinic/accounts/account.js';
import { setDigestSubscription } from '../../../clinic/accounts/digest.js';
import { endKey, makeKey } from '../../../clinic/accounts/keys.js';
import { passwordSchema } from '../../../clinic/accounts/passwords.js';
import {
  renewRecoveryCodes,
  turnOffSecondStep,
  turnOnSecondStep,
} from '../../../clinic/accounts/secondStep.js';
import { newTotpSecret, totpStep } from '../../../clinic/accounts/totp.js';
import { attempt } from '../../../clinic/refusals.js';
import { emailSchema, parseForm, requiredText } from '../../../clinic/values.js';
import { sentenceOf } from '../../../text/refusalWords.js';
import { passwordIn, proofIn } from '../../forms/credentials.js';
import { field } from '../../forms/fields.js';
import type { PageResources } from '../../server/routing.js';
import { type AuthenticatedRequest, idleMs, type PageReply, Routes } from '../../server/routing.js';
import { accountPage, type Shown } from './accountPage.js';

const wrongPassword = 'This is not your password, or it was tried too often. Nothing was changed.';
const notSure =
  'The password or code is incorrect, the code was already used, or there were too many tries. Nothing was changed.';

/** One's own account: how one signs in, the week by email, the second step, keys, and where one is signed in. */
export function accountRoutes(service: AccountResources & PageResources): Routes {
  const page = (visit: AuthenticatedRequest, shown?: Shown): Promise<PageReply> =>
    accountPage(service, visit, shown);

  return new Routes(service)
    .authenticatedRoute('get', '/account', (visit) => page(visit))
    .authenticatedRoute('post', '/account/digest', async (visit) => {
      await setDigestSubscription(service, visit, field(visit.fields, 'wants') === 'yes');
      return { kind: 'redirect', to: '/account#digest' };
    })
    .authenticatedRoute('post', '/account/password', async (visit) => {
      const chosen = passwordSchema.safeParse(passwordIn(visit.fields, 'newPassword'));
      if (!chosen.success) {
        const requirements = chosen.error.issues.map(({ message }) => message).join(', ');
        return page(visit, { refused: `The new password has to be ${requirements}. Nothing was changed.` });
      }
      if (!(await isIdentityProven(service, visit, proofIn(visit)))) return page(visit, { refused: notSure });
      await changePassword(service, visit, chosen.data);
      return page(visit, { done: 'Your password is changed, and every other sign-in has ended.' });
    })
    .authenticatedRoute('post', '/account/email', async (visit) => {
      const email = emailSchema.safeParse(field(visit.fields, 'newEmail'));
      if (!email.success)
        return page(visit, { refused: 'Please give an email address. Nothing was changed.' });
      if (!(await isIdentityProven(service, visit, proofIn(visit)))) return page(visit, { refused: notSure });
      const result = await attempt(() => changeEmail(service, visit, email.data));
      if (result.kind === 'refused') {
        const [refusal] = result.refusals;
        return page(visit, {
          refused: `${sentenceOf(service.words.refusals, refusal)}. Nothing was changed.`,
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
      if (!(await isPasswordCorrect(service, visit, proofIn(visit))))
        return page(visit, { setUp: { secret, failed: wrongPassword } });
      // The secret was made here a moment ago; another one would only weaken the sender's own account.
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
      if (!(await isIdentityProven(service, visit, proofIn(visit)))) return page(visit, { refused: notSure });
      await turnOffSecondStep(service, visit);
      return { kind: 'redirect', to: '/account' };
    })
    .authenticatedRoute('post', '/account/recovery-codes', async (visit) => {
      if (visit.clinician.totpSecret === null) return page(visit);
      if (!(await isIdentityProven(service, visit, proofIn(visit)))) return page(visit, { refused: notSure });
      return page(visit, { newCodes: await renewRecoveryCodes(service, visit) });
    })
    .authenticatedRoute('post', '/account/sign-ins/end-others', async (visit) => {
      await signOutElsewhere(service, visit);
      return { kind: 'redirect', to: '/account#sign-ins' };
    })
    .authenticatedRoute('post', '/account/sign-ins/:name/end', async (visit) => {
      await endNamedSignIn(service, visit, { name: visit.params.name ?? '', idleMs });
      return { kind: 'redirect', to: '/account#sign-ins' };
    })
    .authenticatedRoute('post', '/account/keys', async (visit) => {
      const key = { name: field(visit.fields, 'name'), mayWrite: field(visit.fields, 'mayWrite') === 'yes' };
      if (!(await isPasswordCorrect(service, visit, proofIn(visit))))
        return page(visit, { refused: wrongPassword });
      const schema = z.object({ name: requiredText(100), mayWrite: z.boolean() });
      return page(visit, { newKey: await makeKey(service, visit, parseForm(schema, key)) });
    })
    .authenticatedRoute('post', '/account/keys/:id/end', async (visit) => {
      await endKey(service, visit, visit.params.id ?? '');
      return { kind: 'redirect', to: '/account#keys' };
    });
}
