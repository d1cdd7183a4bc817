/** The fields of a form: each name once, or several times for choices. */
export type Fields = Readonly<Record<string, string | readonly string[] | undefined>>;

/** The value of a field without surrounding spaces; empty if it was not sent. */
export function field(fields: Fields, name: string): string {
  const value = fields[name];
  return (typeof value === 'string' ? value : (value?.[0] ?? '')).trim();
}

type Tree = { [key: string]: Tree | string };

/**
 * Turns dotted field names into nested objects: `breath.inSeconds` and `exercises.0.dose.reps`. Empty fields are left
 * out. Names are data here: none can reach a prototype.
 */
export function treeOf(fields: Fields, prefix: string): Tree {
  const root: Tree = Object.create(null);
  for (const name of Object.keys(fields)) {
    if (!name.startsWith(prefix)) continue;
    const value = field(fields, name);
    if (value === '') continue;
    const keys = name.slice(prefix.length).split('.');
    const last = keys.pop() ?? '';
    let at = root;
    for (const key of keys) {
      const known = at[key];
      const next: Tree = typeof known === 'object' ? known : Object.create(null);
      at[key] = next;
      at = next;
    }
    at[last] = value;
  }
  return root;
}
