/** What one upgrade of an earlier database came to. */
export type UpgradeTried = {
  /** The dump it began with, as `released/0005-follow-up.sql`. */
  dump: string;
  steps: readonly string[];
  /** The copy that was made before, without its time; null where there was nothing to upgrade. */
  copy: string | null;
  /** Rows that were looked for afterwards. */
  rows: number;
  /** Kinds of the messages that went out afterwards. */
  sent: readonly string[];
};

/** The table of upgrades that were tried, as Markdown; a line for each database. */
export function upgradeTable(tried: readonly UpgradeTried[], newestStep: string): string {
  const lines = tried.map(({ dump, steps, copy, rows, sent }) => {
    const cells = [
      originOf(dump),
      steps.length === 0 ? 'none' : `${steps.length}, from ${steps[0] ?? ''}`,
      copy ?? 'none',
      String(rows),
      sent.join(', '),
    ];
    return `| ${cells.join(' | ')} |`;
  });
  return `# Upgrades that are tried in every test

Written by \`tests/store/upgrades.test.ts\`, which fails when it is out of date; \`npx vitest run -u --project rooms tests/store/upgrades.test.ts\` writes it anew. Each line is a database with a patient, a program and rows in the tables that steps once changed. It is opened by this version (its newest step is ${newestStep}): the copy is made, read back and restored elsewhere, the steps are taken, the shape is compared column by column and the rows are looked for. Then the patient who was in it is reminded of a session, and a warning sign of theirs is told. A form is what a step of the past made of a database between the commit that is named and the next line.

| database of | steps taken | copy made before | rows looked for | sent after it |
|---|---|---|---|---|
${lines.join('\n')}
`;
}

/** `released/0005-follow-up.sql` is of a step as it is held; `past/113-ae76d3b7.sql` of the 113th commit. */
function originOf(dump: string): string {
  const past = /^past\/0*(\d+)-([0-9a-f]+)\.sql$/.exec(dump);
  if (past !== null) return `form of commit ${past[2] ?? ''}, number ${past[1] ?? ''}`;
  return `step ${dump.replace(/^released\/|\.sql$/g, '')}`;
}
