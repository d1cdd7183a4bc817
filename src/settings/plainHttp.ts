import { isLoopback } from '../channels/loopback.js';
import { inputError } from '../errors/stillcountError.js';
import type { SettingValues } from './table.js';

/**
 * Refuses to serve other machines without HTTPS unless a setting explicitly allows it.
 *
 * @throws StillcountError kind `input`
 */
export function refusePlainHttp(settings: SettingValues): void {
  const { STILLCOUNT_HOST: host, STILLCOUNT_HTTPS, STILLCOUNT_ALLOW_PLAIN_HTTP } = settings;
  if (isLoopback(host) || STILLCOUNT_HTTPS === 'yes' || STILLCOUNT_ALLOW_PLAIN_HTTP === 'yes') return;
  throw inputError({
    file: 'environment',
    path: 'STILLCOUNT_HOST',
    message:
      'other machines could reach the service without https: passwords and health data would be readable on the way',
    found: host,
    allowed: '127.0.0.1, or another address with STILLCOUNT_HTTPS=yes behind a proxy that speaks https',
    hint: 'to allow it anyway, set STILLCOUNT_ALLOW_PLAIN_HTTP=yes',
  });
}
