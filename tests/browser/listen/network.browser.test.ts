import { inWard } from './inWard.js';
import { offline } from './scenarios/offline.js';

inWard('the listening page without a network', [offline]);
