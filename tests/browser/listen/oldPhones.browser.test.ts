import { inWard } from './inWard.js';
import { noScript } from './scenarios/noScript.js';
import { oldPhone } from './scenarios/oldPhone.js';

inWard('the listening page on old phones', [oldPhone, noScript]);
