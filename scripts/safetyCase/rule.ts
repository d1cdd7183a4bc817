/** A test that guards a rule. */
export type NearestTest = {
  /** Relative to the project's root. */
  file: string;
  /** Part of the names of the tests to run; absent to run the whole file. */
  name?: string;
  /** Runs tests for all databases on SQLite only: the rules are the same on each. */
  isOnSqlite?: boolean;
};

/** One way to break a rule's code. */
export type Fault = {
  /** The mistake, in a few words. */
  what: string;
  /** The file that holds the fragment. */
  file: string;
  /** A piece of the file that occurs in it exactly once, */
  fragment: string;
  /** and its replacement. It must not loop forever: no test could detect that. */
  planted: string;
  /** The tests, one of which must fail; absent to use those of the rule. */
  tests?: readonly NearestTest[];
};

/** A rule whose violation must never go unnoticed. */
export type Rule = {
  /** As written in the code, once: `Rule ID:`. */
  id: string;
  sentence: string;
  /** A publication, a page of the guide, or a note that it is our own choice. */
  source: string;
  /** The tests that verify it: a property where possible, and an example at its boundary. */
  tests: readonly NearestTest[];
  faults: readonly Fault[];
};

/** The rules of one subject. */
export type Subject = { name: string; rules: readonly Rule[] };

/** Names a test file, or some of its tests by part of their name. */
export function test(file: string, name?: string): NearestTest {
  return name === undefined ? { file } : { file, name };
}

/** Names the tests of a file that runs on every database, on SQLite only. */
export function onSqlite(file: string, name?: string): NearestTest {
  return { ...test(file, name), isOnSqlite: true };
}
