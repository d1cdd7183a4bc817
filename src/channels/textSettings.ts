import { inputError, refusedBy } from '../errors/stillcountError.js';
import { isLoopback } from './loopback.js';
import { settingOf, settingProblem } from './settingProblem.js';

const urlVariable = 'STILLCOUNT_TEXT_URL';
const secretVariable = 'STILLCOUNT_TEXT_SECRET';
const shortestSecret = 32;

export type TextSettings = { url: URL; secret: string };

/**
 * Reads the gateway's address and the secret that signs its messages; null if neither is set.
 *
 * @throws StillcountError kind `input` naming each variable that cannot be used, never its value
 */
export function textSettings(environment: NodeJS.ProcessEnv): TextSettings | null {
  const url = settingOf(environment, urlVariable);
  const secret = settingOf(environment, secretVariable);
  if (url === null && secret === null) return null;
  const problems = [() => gatewayOf(url), () => keyOf(secret)].flatMap(refusedBy);
  if (problems.length > 0) throw inputError(problems);
  return { url: gatewayOf(url), secret: keyOf(secret) };
}

function gatewayOf(text: string | null): URL {
  const problem = settingProblem(
    urlVariable,
    'an https address, or http for a gateway on this machine',
    text,
  );
  if (text === null || !URL.canParse(text)) throw problem;
  const url = new URL(text);
  if (url.protocol === 'https:' || (url.protocol === 'http:' && isLoopback(url.hostname))) return url;
  throw problem;
}

function keyOf(secret: string | null): string {
  if (secret !== null && secret.length >= shortestSecret) return secret;
  throw settingProblem(secretVariable, `at least ${shortestSecret} characters, the same as the gateway's`);
}
