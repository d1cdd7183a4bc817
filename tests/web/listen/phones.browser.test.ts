import { inWard } from './inWard.js';
import { bedside } from './scenarios/bedside.js';
import { faults } from './scenarios/faults.js';
import { links } from './scenarios/links.js';
import { offline } from './scenarios/offline.js';
import { oldPhone } from './scenarios/oldPhone.js';

inWard('the listening page on phones as they are', [offline, links, bedside, faults, oldPhone]);
