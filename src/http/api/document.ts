import { z } from 'zod';
import type { Endpoint } from './endpoint/endpoint.js';
import * as results from './endpoint/results.js';

/** The version of the API, which is part of its addresses. */
const apiVersion = '1';

/** Failure statuses of every endpoint, with their meaning. */
const failures: Readonly<Record<string, string>> = {
  400: 'The request does not match this description; each problem names its path.',
  401: 'The key is missing or no longer works.',
  403: 'The key or its clinician does not have permission.',
  404: 'Not found in this clinic.',
  409: 'Someone else has changed it in the meantime.',
  413: 'The request is too large.',
  500: 'An unexpected error occurred.',
  503: 'The database or a voice failed; retry the same request later.',
};

/** The OpenAPI 3.1 document of the endpoints. It uses the same schemas that requests are validated with. */
export function openApiDocument(endpoints: readonly Endpoint[]): object {
  const paths: Record<string, Record<string, object>> = {};
  for (const each of endpoints) {
    paths[each.path] = { ...paths[each.path], [each.method]: operation(each) };
  }
  return {
    openapi: '3.1.0',
    info: {
      title: 'Stillcount',
      version: apiVersion,
      description:
        'For a clinic’s other software. A key acts on behalf of one clinician: the activity log records what it does under her name and the name of the key. Programs submitted with it wait for her: only she can sign and resume, and only on the pages; accounts and invitations are also managed on the pages only. Every refused request returns a `code` whose meaning never changes; sentences may be reworded. Each response carries its request id as `X-Request-Id`.',
      license: { name: 'MIT', identifier: 'MIT' },
    },
    servers: [{ url: `/api/v${apiVersion}` }],
    security: [{ key: [] }],
    paths,
    components: {
      securitySchemes: { key: { type: 'http', scheme: 'bearer' } },
      schemas: { Problems: jsonSchema(results.problems, 'output') },
    },
  };
}

function operation(each: Endpoint): object {
  const names = [...each.path.matchAll(/\{(\w+)\}/g)].map(([, name = '']) => name);
  const parameters = [
    ...names.map((name) => ({ name, in: 'path', required: true, schema: { type: 'string' } })),
    ...Object.entries(each.query?.shape ?? {}).map(([name, schema]) => ({
      name,
      in: 'query',
      required: false,
      schema: jsonSchema(schema, 'input'),
    })),
  ];
  const failed = Object.entries(failures).map(([status, description]) => [
    status,
    { description, content: json({ $ref: '#/components/schemas/Problems' }) },
  ]);
  return {
    operationId: `${each.method}${each.path.replace(/[/{}-]+(\w?)/g, (_match, next: string) => next.toUpperCase())}`,
    summary: each.summary,
    ...(parameters.length === 0 ? {} : { parameters }),
    ...(each.body === undefined
      ? {}
      : { requestBody: { required: true, content: json(jsonSchema(each.body, 'input')) } }),
    responses: {
      [each.status]: { description: 'Done.', ...contentOf(each) },
      ...Object.fromEntries(failed),
    },
  };
}

/** OpenAPI 3.1 describes bytes by their media type alone. */
function contentOf({ produces, result }: Endpoint): object {
  if (produces !== undefined) return { content: { [produces]: {} } };
  return result === undefined ? {} : { content: json(jsonSchema(result, 'output')) };
}

const json = (schema: object) => ({ 'application/json': { schema } });

function jsonSchema(schema: z.core.$ZodType, io: 'input' | 'output'): object {
  const { $schema: _dialect, ...rest } = z.toJSONSchema(schema, { io, unrepresentable: 'any' });
  return rest;
}
