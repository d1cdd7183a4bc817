import type { Proof } from '../../clinic/accounts/account.js';
import { type Fields, field } from './fields.js';

/** The password of a form exactly as typed: spaces around it belong to it. */
export function passwordIn(fields: Fields, name = 'password'): string {
  const typed = fields[name];
  return typeof typed === 'string' ? typed : '';
}

/** The proof in a form that its sender owns the account. */
export function proofIn({ fields, place }: { fields: Fields; place: string }): Proof {
  return {
    password: passwordIn(fields),
    code: field(fields, 'code'),
    recoveryCode: field(fields, 'recoveryCode'),
    place,
  };
}
