import { inWard } from './inWard.js';
import { notes } from './scenarios/notes.js';

inWard('notes on the listening page', [notes]);
