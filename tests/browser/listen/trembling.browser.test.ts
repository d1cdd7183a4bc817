import { inWard } from './inWard.js';
import { trembling } from './scenarios/trembling.js';

inWard('the listening page under a hand that trembles', [trembling]);
