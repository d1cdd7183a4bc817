import { setTotpSecret, useTotpStep } from '../../store/clinicians.js';
import { note } from '../acts/actor.js';
import { newTotpSecret, totpAddress, totpStep } from '../auth/totp.js';
import { field } from '../forms/fields.js';
import { type Answer, type MemberVisit, Routes } from '../routing.js';
import type { Service } from '../service.js';

/** One's own account: the second step, and signing out everywhere. */
export function accountRoutes(service: Service): Routes {
  const { store } = service;

  function page({ clinician }: MemberVisit, setUp: { secret: string; failed?: string } | null): Answer {
    return {
      kind: 'page',
      page: 'account',
      title: 'Your account',
      status: setUp?.failed === undefined ? 200 : 400,
      view: {
        clinician,
        hasSecondStep: clinician.totpSecret !== null,
        setUp:
          setUp === null
            ? null
            : {
                ...setUp,
                shown: setUp.secret.replaceAll(/(.{4})(?=.)/g, '$1 '),
                address: totpAddress(setUp.secret, clinician.email),
              },
      },
    };
  }

  async function keep(visit: MemberVisit, secret: string | null, step: number): Promise<Answer> {
    const { id } = visit.clinician;
    await store.write(async (db) => {
      await setTotpSecret(db, id, secret);
      if (secret !== null) await useTotpStep(db, id, step);
      const action = secret === null ? 'second-step-removed' : 'second-step-set-up';
      await note(db, visit, { patientId: null, subject: id, action });
    });
    return { kind: 'redirect', to: '/account' };
  }

  return new Routes(service)
    .member('get', '/account', async (visit) => page(visit, null))
    .member('post', '/account/second-step', async (visit) => {
      const secret = field(visit.fields, 'secret');
      if (secret === '') return page(visit, { secret: newTotpSecret() });
      // The secret was made here a moment ago; another one would only weaken the sender's own account.
      const step = /^[A-Z2-7]{32}$/.test(secret)
        ? totpStep(secret, field(visit.fields, 'code'), visit.nowMs)
        : null;
      if (step !== null) return keep(visit, secret, step);
      return page(visit, { secret, failed: 'This code is not right. Take the one that is shown now.' });
    })
    .member('post', '/account/no-second-step', async (visit) => {
      const { totpSecret } = visit.clinician;
      const step = totpSecret === null ? 0 : totpStep(totpSecret, field(visit.fields, 'code'), visit.nowMs);
      return step === null ? page(visit, null) : keep(visit, null, step);
    });
}
