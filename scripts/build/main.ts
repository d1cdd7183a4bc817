// Compiles the project into dist, as it is packed.
import { compile } from './compile.js';

await compile();
