import { inWard } from './inWard.js';
import { faults } from './scenarios/faults.js';

inWard('the listening page when its sound fails', [faults]);
