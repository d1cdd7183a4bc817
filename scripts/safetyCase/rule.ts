/** A test that guards a rule. */
export type NearestTest = {
  /** From the root of the project. */
  file: string;
  /** Part of the names of the tests to run; absent for the whole file. */
  name?: string;
  /** The tests of all databases are run on SQLite alone: the rules are the same on each. */
  isOnSqlite?: boolean;
};

/** One way in which the code of a rule could be wrong. */
export type Fault = {
  /** What goes wrong with it, in a few words. */
  what: string;
  /** The file that holds the fragment. */
  file: string;
  /** A piece of the file that stands in it exactly once, */
  fragment: string;
  /** and what takes its place. It must not loop without end: no test could tell. */
  planted: string;
  /** The tests of which one must fail; absent for those of the rule. */
  tests?: readonly NearestTest[];
};

/** A rule that must never be broken unnoticed. */
export type Rule = {
  /** As it stands in the code, once: `Rule ID:`. */
  id: string;
  sentence: string;
  /** A publication, a page of the guide, or whose choice it is. */
  source: string;
  /** The tests that hold it: a property where there can be one, and an example at its boundary. */
  tests: readonly NearestTest[];
  faults: readonly Fault[];
};

/** The rules of one subject. */
export type Subject = { name: string; rules: readonly Rule[] };

/** A test file, or some tests of it by part of their name. */
export function test(file: string, name?: string): NearestTest {
  return name === undefined ? { file } : { file, name };
}

/** The tests of a file that runs on every database, on SQLite. */
export function onSqlite(file: string, name?: string): NearestTest {
  return { ...test(file, name), isOnSqlite: true };
}
