import { z } from 'zod';

type JsonSchema = z.core.JSONSchema.BaseSchema;

/** Returns the keys that a schema knows at a path, for messages about unknown ones; empty if it cannot tell. */
export function knownKeysAt(schema: z.ZodType, path: readonly PropertyKey[]): string[] {
  let current: JsonSchema[] = [z.toJSONSchema(schema, { io: 'input', unrepresentable: 'any' })];
  for (const key of path) {
    current = current.flatMap((node) => branches(node)).flatMap((node) => child(node, key));
  }
  return [...new Set(current.flatMap(branches).flatMap((node) => Object.keys(node.properties ?? {})))];
}

function branches(node: JsonSchema): JsonSchema[] {
  const inner = [...(node.anyOf ?? []), ...(node.oneOf ?? []), ...(node.allOf ?? [])];
  return [node, ...inner.flatMap(branches)];
}

function child(node: JsonSchema, key: PropertyKey): JsonSchema[] {
  const next =
    typeof key === 'number' ? node.items : (node.properties?.[String(key)] ?? node.additionalProperties);
  return typeof next === 'object' && !Array.isArray(next) ? [next] : [];
}
