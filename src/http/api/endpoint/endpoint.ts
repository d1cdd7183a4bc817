import type { z } from 'zod';
import type { Actor } from '../../../clinic/actor.js';
import type { HttpResources } from '../../server/resources.js';

/** One thing that another program can do; the document of the API is made from these. */
export type Endpoint = {
  method: 'get' | 'post' | 'put' | 'delete';
  /** Below `/api/v1`, with parameters in braces. */
  path: string;
  /** One line for the document. */
  summary: string;
  query?: z.ZodObject;
  body?: z.ZodType;
  result?: z.ZodType;
  /** For an answer that is not JSON; the handler then gives its bytes. */
  produces?: 'audio/mpeg' | 'application/zip';
  /** 201 for what is made, 204 for what has no answer, else 200. */
  status: 200 | 201 | 204;
  /** Answers a request whose parts have been checked. Its answer is cut to `result`, so that nothing else gets out. */
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

/** An endpoint that answers with sound. */
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

/** An endpoint that answers with a file. */
export function fileEndpoint(
  parts: Pick<Endpoint, 'path' | 'summary'> & {
    produces: 'application/zip';
    handle(request: ApiRequest): Promise<Buffer>;
  },
): Endpoint {
  return { ...parts, method: 'get', status: 200 };
}

/** An endpoint whose handler sees its query and body as its schemas have them. */
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
        // The router has checked both against these very schemas.
        query: request.query as z.output<Query>,
        body: request.body as z.output<Body>,
      }),
  };
}
