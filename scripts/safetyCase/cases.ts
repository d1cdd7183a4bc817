import type { Subject } from './rule.js';
import { advice } from './subjects/advice.js';
import { dose } from './subjects/dose.js';
import { permissions } from './subjects/permissions.js';
import { reminding } from './subjects/reminding.js';
import { screening } from './subjects/screening.js';
import { script } from './subjects/script.js';
import { signing } from './subjects/signing.js';
import { sound } from './subjects/sound.js';
import { warnings } from './subjects/warnings.js';

/** Every rule, by its subject. */
export const subjects: readonly Subject[] = [
  ...[screening, signing, dose, warnings, permissions],
  ...[reminding, advice, script, sound],
];
