import { z } from 'zod';
import { accessKeysOf } from '../../store/accessKeys.js';
import { setTotpSecret, useTotpStep } from '../../store/clinicians.js';
import { note } from '../acts/actor.js';
import { endKey, makeKey } from '../acts/keys.js';
import { newTotpSecret, totpAddress, totpStep } from '../auth/totp.js';
import { field } from '../forms/fields.js';
import { line, parsedForm } from '../forms/values.js';
import { dayInWords } from '../forms/words.js';
import { type Answer, type MemberVisit, Routes } from '../routing.js';
import type { Service } from '../service.js';

type Shown = { setUp?: { secret: string; failed?: string }; newKey?: string };

/** One's own account: the second step, keys for other programs, and signing out everywhere. */
export function accountRoutes(service: Service): Routes {
  const { store } = service;

  async function page({ clinician, mayWrite }: MemberVisit, { setUp, newKey }: Shown = {}): Promise<Answer> {
    const keys = await store.read((db) => accessKeysOf(db, clinician.id));
    const day = (atMs: number) => dayInWords(atMs, clinician.clinicZone);
    return {
      kind: 'page',
      page: 'account',
      title: 'Your account',
      status: setUp?.failed === undefined ? 200 : 400,
      view: {
        clinician,
        mayWrite,
        hasSecondStep: clinician.totpSecret !== null,
        setUp:
          setUp === undefined
            ? null
            : {
                ...setUp,
                shown: setUp.secret.replaceAll(/(.{4})(?=.)/g, '$1 '),
                address: totpAddress(setUp.secret, clinician.email),
              },
        newKey,
        hasKeys: keys.length > 0,
        keys: keys.map((key) => ({
          ...key,
          made: day(key.createdAtMs),
          used: key.lastSeenAtMs === null ? null : day(key.lastSeenAtMs),
        })),
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
    .member('get', '/account', (visit) => page(visit))
    .member('post', '/account/second-step', async (visit) => {
      const secret = field(visit.fields, 'secret');
      if (secret === '') return page(visit, { setUp: { secret: newTotpSecret() } });
      // The secret was made here a moment ago; another one would only weaken the sender's own account.
      const step = /^[A-Z2-7]{32}$/.test(secret)
        ? totpStep(secret, field(visit.fields, 'code'), visit.nowMs)
        : null;
      if (step !== null) return keep(visit, secret, step);
      const failed = 'This code is not right. Take the one that is shown now.';
      return page(visit, { setUp: { secret, failed } });
    })
    .member('post', '/account/no-second-step', async (visit) => {
      const { totpSecret } = visit.clinician;
      const step = totpSecret === null ? 0 : totpStep(totpSecret, field(visit.fields, 'code'), visit.nowMs);
      return step === null ? page(visit) : keep(visit, null, step);
    })
    .member('post', '/account/keys', async (visit) => {
      const key = { name: field(visit.fields, 'name'), mayWrite: field(visit.fields, 'mayWrite') === 'yes' };
      const schema = z.object({ name: line(100), mayWrite: z.boolean() });
      return page(visit, { newKey: await makeKey(service, visit, parsedForm(schema, key)) });
    })
    .member('post', '/account/keys/:id/end', async (visit) => {
      await endKey(service, visit, visit.params.id ?? '');
      return { kind: 'redirect', to: '/account#keys' };
    });
}
