import { inWard } from './inWard.js';
import { easier } from './scenarios/easier.js';
import { listening } from './scenarios/listening.js';
import { notes } from './scenarios/notes.js';
import { trembling } from './scenarios/trembling.js';
import { warnings } from './scenarios/warnings.js';

inWard('the listening page', [listening, easier, warnings, notes, trembling]);
