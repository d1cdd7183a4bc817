import { inWard } from './inWard.js';
import { easier } from './scenarios/easier.js';
import { listening } from './scenarios/listening.js';

inWard('a session on the listening page', [listening, easier]);
