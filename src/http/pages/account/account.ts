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
import { emailSchema, parseForm, requiredText } from '../../../clinic/values.js';
import { sentenceOf } from '../../../text/refusalWords.js';
import { passwordIn, proofIn } from '../../forms/credentials.js';
import { field } from '../../forms/fields.js';
import { attempt } from '../../server/problems.js';
import type { PageResources } from '../../server/routing.js';
import { type AuthenticatedRequest, idleMs, type PageReply, Routes } from '../../server/routing.js';
import { accountPage, type Shown } from './accountPage.js';

const wrongPassword = 'This is not your password, or it was tried too often. Nothing was changed.';
const notSure =
  'The password or code is incorrect, the code was already used, or there were too many tries. Nothing was changed.';

/** A member's own account: credentials, weekly summary, two-step verification, keys, and sign-ins. */
export function accountRoutes(service: AccountResources & PageResources): Routes {
  const page = (request: AuthenticatedRequest, shown?: Shown): Promise<PageReply> =>
    accountPage(service, request, shown);

  return new Routes(service)
    .authenticatedRoute('get', '/account', (request) => page(request))
    .authenticatedRoute('post', '/account/digest', async (request) => {
      await setDigestSubscription(service, request, field(request.fields, 'wants') === 'yes');
      return { kind: 'redirect', to: '/account#digest' };
    })
    .authenticatedRoute('post', '/account/password', async (request) => {
      const chosen = passwordSchema.safeParse(passwordIn(request.fields, 'newPassword'));
      if (!chosen.success) {
        const requirements = chosen.error.issues.map(({ message }) => message).join(', ');
        return page(request, { refused: `The new password has to be ${requirements}. Nothing was changed.` });
      }
      if (!(await isIdentityProven(service, request, proofIn(request))))
        return page(request, { refused: notSure });
      await changePassword(service, request, chosen.data);
      return page(request, { done: 'Your password is changed, and every other sign-in has ended.' });
    })
    .authenticatedRoute('post', '/account/email', async (request) => {
      const email = emailSchema.safeParse(field(request.fields, 'newEmail'));
      if (!email.success)
        return page(request, { refused: 'Please give an email address. Nothing was changed.' });
      if (!(await isIdentityProven(service, request, proofIn(request))))
        return page(request, { refused: notSure });
      const result = await attempt(() => changeEmail(service, request, email.data));
      if (result.kind === 'refused') {
        const [refusal] = result.refusals;
        return page(request, {
          refused: `${sentenceOf(service.words.refusals, refusal)}. Nothing was changed.`,
        });
      }
      const clinician = { ...request.clinician, email: email.data.toLowerCase() };
      const done = `You sign in with ${clinician.email} from now on, and every other sign-in has ended.`;
      return page({ ...request, clinician }, { done });
    })
    .authenticatedRoute('post', '/account/second-step', async (request) => {
      const secret = field(request.fields, 'secret');
      if (secret === '') return page(request, { setUp: { secret: newTotpSecret() } });
      if (request.clinician.totpSecret !== null) return page(request);
      if (!(await isPasswordCorrect(service, request, proofIn(request))))
        return page(request, { setUp: { secret, failed: wrongPassword } });
      // The secret was generated here a moment ago; a different one would only weaken the sender's own account.
      const step = /^[A-Z2-7]{32}$/.test(secret)
        ? totpStep(secret, field(request.fields, 'code'), request.nowMs)
        : null;
      if (step !== null) {
        return page(request, { newCodes: await turnOnSecondStep(service, request, { secret, step }) });
      }
      const failed = 'This code is not right. Take the one that is shown now.';
      return page(request, { setUp: { secret, failed } });
    })
    .authenticatedRoute('post', '/account/no-second-step', async (request) => {
      if (request.clinician.totpSecret === null) return page(request);
      if (!(await isIdentityProven(service, request, proofIn(request))))
        return page(request, { refused: notSure });
      await turnOffSecondStep(service, request);
      return { kind: 'redirect', to: '/account' };
    })
    .authenticatedRoute('post', '/account/recovery-codes', async (request) => {
      if (request.clinician.totpSecret === null) return page(request);
      if (!(await isIdentityProven(service, request, proofIn(request))))
        return page(request, { refused: notSure });
      return page(request, { newCodes: await renewRecoveryCodes(service, request) });
    })
    .authenticatedRoute('post', '/account/sign-ins/end-others', async (request) => {
      await signOutElsewhere(service, request);
      return { kind: 'redirect', to: '/account#sign-ins' };
    })
    .authenticatedRoute('post', '/account/sign-ins/:name/end', async (request) => {
      await endNamedSignIn(service, request, { name: request.params.name ?? '', idleMs });
      return { kind: 'redirect', to: '/account#sign-ins' };
    })
    .authenticatedRoute('post', '/account/keys', async (request) => {
      const key = {
        name: field(request.fields, 'name'),
        mayWrite: field(request.fields, 'mayWrite') === 'yes',
      };
      if (!(await isPasswordCorrect(service, request, proofIn(request))))
        return page(request, { refused: wrongPassword });
      const schema = z.object({ name: requiredText(100), mayWrite: z.boolean() });
      return page(request, { newKey: await makeKey(service, request, parseForm(schema, key)) });
    })
    .authenticatedRoute('post', '/account/keys/:id/end', async (request) => {
      await endKey(service, request, request.params.id ?? '');
      return { kind: 'redirect', to: '/account#keys' };
    });
}
