import type { z } from 'zod';
import { nearestName } from '../errors/nearestName.js';
import type { Problem } from '../errors/stillcountError.js';
import { knownKeysAt } from './knownKeys.js';

/** More than anyone fixes at one time; rejecting a file with thousands of faults must not take minutes. */
const maxShown = 20;

type Path = { keys: readonly PropertyKey[]; text: string };
type PlacedProblem = Omit<Problem, 'path' | 'file'> & { path: Path };

/**
 * Turns zod's issues into problems with found, allowed and a hint.
 *
 * @param value the validated value, so that the message can show what was found
 */
export function problemsOf(error: z.ZodError, value: unknown, schema: z.ZodType): PlacedProblem[] {
  const shown = error.issues.slice(0, maxShown).flatMap((issue) => problemsOfIssue(issue, value, schema));
  return shown.slice(0, maxShown);
}

/** `exercises[1].dose.reps` from `['exercises', 1, 'dose', 'reps']`. */
export function pathText(keys: readonly PropertyKey[]): string {
  return keys.reduce<string>((text, key) => {
    if (typeof key === 'number') return `${text}[${key}]`;
    return text === '' ? String(key) : `${text}.${String(key)}`;
  }, '');
}

/** Formats a value so that a person recognizes it, truncated. */
export function showValue(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (typeof value === 'number') return String(value);
  const text = JSON.stringify(value) ?? String(value);
  return text.length > 80 ? `${text.slice(0, 77)}...` : text;
}

function problemsOfIssue(issue: z.core.$ZodIssue, value: unknown, schema: z.ZodType): PlacedProblem[] {
  const at = (keys: readonly PropertyKey[]): Path => ({ keys, text: pathText(keys) });
  const path = at(issue.path);
  const found = showValue(valueAt(value, issue.path));
  switch (issue.code) {
    case 'unrecognized_keys': {
      const known = knownKeysAt(schema, issue.path);
      return issue.keys.slice(0, maxShown).map((key) => {
        const nearest = nearestName(key, known);
        return {
          path: at([...issue.path, key]),
          message: 'unknown key',
          found: showValue(key),
          ...(known.length > 0 ? { allowed: known.join(', ') } : {}),
          ...(nearest === undefined ? {} : { hint: `did you mean ${nearest}?` }),
        };
      });
    }
    case 'invalid_value': {
      const allowed = issue.values.map(String);
      const nearest = nearestName(String(valueAt(value, issue.path)), allowed);
      return [
        {
          path,
          message: 'not an allowed value',
          found,
          allowed: allowed.join(', '),
          ...(nearest === undefined ? {} : { hint: `did you mean ${nearest}?` }),
        },
      ];
    }
    case 'invalid_type':
      return [{ path, message: 'wrong kind of value', found, allowed: plainType(issue.expected) }];
    case 'too_small':
      return [
        { path, message: 'too small', found, allowed: `${unitOf(issue.origin)}at least ${issue.minimum}` },
      ];
    case 'too_big':
      return [
        { path, message: 'too large', found, allowed: `${unitOf(issue.origin)}at most ${issue.maximum}` },
      ];
    case 'invalid_union': {
      const branch = issue.errors.find((issues) => issues.some((inner) => inner.code !== 'invalid_type'));
      if (branch === undefined)
        return [{ path, message: 'wrong kind of value', found, allowed: issue.message }];
      return branch.flatMap((inner) =>
        problemsOfIssue({ ...inner, path: [...issue.path, ...inner.path] }, value, schema),
      );
    }
    default:
      return [{ path, message: issue.message, found }];
  }
}

function valueAt(value: unknown, keys: readonly PropertyKey[]): unknown {
  let current = value;
  for (const key of keys) {
    if (typeof current !== 'object' || current === null) return undefined;
    current = (current as Record<PropertyKey, unknown>)[key];
  }
  return current;
}

function plainType(expected: string): string {
  const names: Record<string, string> = {
    object: 'a map',
    array: 'a list',
    string: 'text',
    int: 'a whole number',
  };
  return names[expected] ?? `a ${expected}`;
}

function unitOf(origin: string): string {
  if (origin === 'string') return 'length ';
  if (origin === 'array') return 'entries ';
  return '';
}
