import type { RequestHandler } from 'express';
import helmet from 'helmet';

/**
 * Headers for every response. No script, style or frame from elsewhere, none inline. What only makes sense behind https
 * is sent only there, or pages on a clinic's own network would lose their scripts.
 */
export function securityHeaders(https: boolean): RequestHandler {
  return helmet({
    contentSecurityPolicy: {
      useDefaults: false,
      directives: {
        defaultSrc: ["'none'"],
        scriptSrc: ["'self'"],
        styleSrc: ["'self'"],
        imgSrc: ["'self'", 'data:'],
        // Prompts that a page holds in memory for when there is no network.
        mediaSrc: ["'self'", 'blob:'],
        connectSrc: ["'self'"],
        manifestSrc: ["'self'"],
        workerSrc: ["'self'"],
        formAction: ["'self'"],
        baseUri: ["'none'"],
        frameAncestors: ["'none'"],
        ...(https ? { upgradeInsecureRequests: [] } : {}),
      },
    },
    strictTransportSecurity: https,
    referrerPolicy: { policy: 'no-referrer' },
    crossOriginResourcePolicy: { policy: 'same-origin' },
  });
}

const safeMethods = ['GET', 'HEAD', 'OPTIONS'];

/**
 * Whether a request that changes something comes from one of our own pages: browsers say so in Sec-Fetch-Site (W3C
 * Fetch Metadata) or, older ones, in Origin. A request with neither is not from a browser.
 */
export function comesFromOurPages(request: {
  method: string;
  host: string;
  secFetchSite: string | undefined;
  origin: string | undefined;
}): boolean {
  if (safeMethods.includes(request.method)) return true;
  if (request.secFetchSite !== undefined) return request.secFetchSite === 'same-origin';
  if (request.origin === undefined || !URL.canParse(request.origin)) return false;
  return new URL(request.origin).host === request.host;
}
