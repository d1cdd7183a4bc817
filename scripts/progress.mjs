/**
 * Shows that something is in progress, and for how long: on a terminal in one line that counts the seconds, elsewhere
 * in a line every ten seconds.
 *
 * @template Result
 * @param {string} title what is in progress
 * @param {Promise<Result>} work
 * @returns {Promise<Result>}
 */
export async function withProgress(title, work) {
  const stream = process.stderr;
  const isTerminal = stream.isTTY === true;
  const startedAt = performance.now();
  const seconds = () => Math.round((performance.now() - startedAt) / 1000);
  stream.write(isTerminal ? `${title} ...` : `${title}.\n`);
  const timer = setInterval(
    () => {
      stream.write(isTerminal ? `\r${title} ... ${seconds()} s` : `  under way for ${seconds()} s\n`);
    },
    (isTerminal ? 1 : 10) * 1000,
  );
  try {
    return await work;
  } finally {
    clearInterval(timer);
    stream.write(isTerminal ? `\r${title}: ${seconds()} s\u001b[K\n` : `  ended after ${seconds()} s\n`);
  }
}
