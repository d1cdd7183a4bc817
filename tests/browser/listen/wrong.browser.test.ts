import { inWard } from './inWard.js';
import { stopPage } from './scenarios/stopPage.js';
import { warnings } from './scenarios/warnings.js';

inWard('something wrong on the listening page', [warnings, stopPage]);
