import type { z } from 'zod';
import type { Actor } from '../../../clinic/actor.js';
import type { HttpResources } from '../../server/resources.js';

/** One operation of the API; the API document is generated from these. */
export type Endpoint = {
  method: 'get' | 'post' | 'put' | 'delete';
  /** Below `/api/v1`, with parameters in braces. */
  path: string;
  /** One line for the document. */
  summary: string;
  query?: z.ZodObject;
  body?: z.ZodType;
  result?: z.ZodType;
  /** For a response that is not JSON; the handler then returns its bytes. */
  produces?: 'audio/mpeg' | 'application/zip';
  /** 201 for something created, 204 for no content, else 200. */
  status: 200 | 201 | 204;
  /** Handles a validated request. The response is stripped to `result`, so that nothing else gets out. */
  handle(request: ApiRequest): Promise<unknown>;
};

export type ApiRequest = {
  service: HttpResources;
  actor: Actor;
  params: Readonly<Record<string, string>>;
  query: unknown;
  body: unknown;
};

type Parts<Query extends z.ZodObject, Body extends z.ZodType, Result extends z.ZodType> = {
  method: Endpoint['method'];
  path: string;
  summary: string;
  query?: Query;
  body?: Body;
  result?: Result;
  status?: Endpoint['status'];
  handle(
    request: Omit<ApiRequest, 'query' | 'body'> & { query: z.output<Query>; body: z.output<Body> },
  ): Promise<z.input<Result>>;
};

/** An endpoint that returns audio. */
export function soundEndpoint<Body extends z.ZodType>(parts: {
  path: string;
  summary: string;
  body: Body;
  handle(request: Omit<ApiRequest, 'body'> & { body: z.output<Body> }): Promise<Buffer>;
}): Endpoint {
  return {
    ...parts,
    method: 'post',
    produces: 'audio/mpeg',
    status: 200,
    handle: (request) => parts.handle({ ...request, body: request.body as z.output<Body> }),
  };
}

/** An endpoint that returns a file. */
export function fileEndpoint(
  parts: Pick<Endpoint, 'path' | 'summary'> & {
    produces: 'application/zip';
    handle(request: ApiRequest): Promise<Buffer>;
  },
): Endpoint {
  return { ...parts, method: 'get', status: 200 };
}

/** An endpoint whose handler gets its query and body with the types of its schemas. */
export function endpoint<
  Query extends z.ZodObject = z.ZodObject<Record<never, never>>,
  Body extends z.ZodType = z.ZodUndefined,
  Result extends z.ZodType = z.ZodVoid,
>({ query, body, result, status, ...parts }: Parts<Query, Body, Result>): Endpoint {
  return {
    ...parts,
    ...(query === undefined ? {} : { query }),
    ...(body === undefined ? {} : { body }),
    ...(result === undefined ? {} : { result }),
    status: status ?? (result === undefined ? 204 : 200),
    handle: (request) =>
      parts.handle({
        ...request,
        // The router has validated both with these very schemas.
        query: request.query as z.output<Query>,
        body: request.body as z.output<Body>,
      }),
  };
}
