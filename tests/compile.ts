/**
 * Compiles the project once for the tests that start it as a process of its own, as it is installed: hundreds of
 * starts from the source would compile it hundreds of times.
 */
export { compile as default } from '../scripts/build/compile.js';
