/** Writes lines to the terminal's standard output. */
export function print(...lines: readonly string[]): void {
  if (lines.length > 0) process.stdout.write(`${lines.join('\n')}\n`);
}

/** Writes a value as JSON for other programs. */
export function printJson(value: unknown): void {
  print(JSON.stringify(value, null, 2));
}

/** Formats minutes and seconds, for example `12 min 5 s`. */
export function formatDuration(ms: number): string {
  const seconds = Math.round(ms / 1000);
  return seconds < 60 ? `${seconds} s` : `${Math.floor(seconds / 60)} min ${seconds % 60} s`;
}
