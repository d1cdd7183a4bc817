import { z } from 'zod';
import { accessKeysOf } from '../../store/accessKeys.js';
import { setTotpSecret, useTotpStep } from '../../store/clinicians.js';
import { wantsDigest } from '../../store/weeks.js';
import { note } from '../acts/actor.js';
import { askForDigest } from '../acts/digest.js';
import { endKey, makeKey } from '../acts/keys.js';
import { isPassword } from '../auth/passwords.js';
import { newTotpSecret, totpAddress, totpStep } from '../auth/totp.js';
import { field } from '../forms/fields.js';
import { line, parsedForm } from '../forms/values.js';
import { dayInWords } from '../forms/words.js';
import { type Answer, type MemberVisit, Routes } from '../routing.js';
import type { Service } from '../service.js';

type Shown = { setUp?: { secret: string; failed?: string }; newKey?: string; refused?: string };

const wrongPassword = 'This is not your password, or it was tried too often. Nothing was changed.';

/** One's own account: the week by e-mail, the second step, keys for other programs, and signing out everywhere. */
export function accountRoutes(service: Service): Routes {
  const { store } = service;

  async function page(
    { clinician, mayWrite }: MemberVisit,
    { setUp, newKey, refused }: Shown = {},
  ): Promise<Answer> {
    const keys = await store.read((db) => accessKeysOf(db, clinician.id));
    const isWanted = await store.read((db) => wantsDigest(db, clinician.id));
    const day = (atMs: number) => dayInWords(atMs, clinician.clinicZone);
    return {
      kind: 'page',
      page: 'account',
      title: 'Your account',
      status: setUp?.failed === undefined && refused === undefined ? 200 : 400,
      view: {
        clinician,
        mayWrite,
        wantsDigest: isWanted,
        sendsMail: service.channelNames.has('mail'),
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
        refused,
        hasKeys: keys.length > 0,
        keys: keys.map((key) => ({
          ...key,
          made: day(key.createdAtMs),
          used: key.lastSeenAtMs === null ? null : day(key.lastSeenAtMs),
        })),
      },
    };
  }

  /** Whoever only sits at an open page must not change how its owner signs in. */
  async function isHerself(visit: MemberVisit): Promise<boolean> {
    const { email, passwordHash } = visit.clinician;
    if (!(await service.limits.mayTry(email, visit.place))) return false;
    const { password } = visit.fields;
    return isPassword(typeof password === 'string' ? password : '', passwordHash);
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
    .member('post', '/account/digest', async (visit) => {
      await askForDigest(service, visit, field(visit.fields, 'wants') === 'yes');
      return { kind: 'redirect', to: '/account#digest' };
    })
    .member('post', '/account/second-step', async (visit) => {
      const secret = field(visit.fields, 'secret');
      if (secret === '') return page(visit, { setUp: { secret: newTotpSecret() } });
      if (visit.clinician.totpSecret !== null) return page(visit);
      if (!(await isHerself(visit))) return page(visit, { setUp: { secret, failed: wrongPassword } });
      // The secret was made here a moment ago; another one would only weaken the sender's own account.
      const step = /^[A-Z2-7]{32}$/.test(secret)
        ? totpStep(secret, field(visit.fields, 'code'), visit.nowMs)
        : null;
      if (step !== null) return keep(visit, secret, step);
      const failed = 'This code is not right. Take the one that is shown now.';
      return page(visit, { setUp: { secret, failed } });
    })
    .member('post', '/account/no-second-step', async (visit) => {
      const { id, totpSecret } = visit.clinician;
      if (totpSecret === null) return page(visit);
      if (!(await isHerself(visit))) return page(visit, { refused: wrongPassword });
      const step = totpStep(totpSecret, field(visit.fields, 'code'), visit.nowMs);
      const isNew = step !== null && (await store.write((db) => useTotpStep(db, id, step)));
      return isNew ? keep(visit, null, 0) : page(visit, { refused: 'This code is not right.' });
    })
    .member('post', '/account/keys', async (visit) => {
      const key = { name: field(visit.fields, 'name'), mayWrite: field(visit.fields, 'mayWrite') === 'yes' };
      if (!(await isHerself(visit))) return page(visit, { refused: wrongPassword });
      const schema = z.object({ name: line(100), mayWrite: z.boolean() });
      return page(visit, { newKey: await makeKey(service, visit, parsedForm(schema, key)) });
    })
    .member('post', '/account/keys/:id/end', async (visit) => {
      await endKey(service, visit, visit.params.id ?? '');
      return { kind: 'redirect', to: '/account#keys' };
    });
}
