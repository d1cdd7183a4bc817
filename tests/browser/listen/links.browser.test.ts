import { inWard } from './inWard.js';
import { bedside } from './scenarios/bedside.js';
import { links } from './scenarios/links.js';

inWard('ways to the listening page', [links, bedside]);
