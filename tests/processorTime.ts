/**
 * How long this process itself worked since then, in milliseconds: work that takes too long shows in it as on a clock,
 * and what else the machine does in the meantime does not.
 *
 * @param since what `process.cpuUsage()` gave
 */
export function processorMs(since: NodeJS.CpuUsage): number {
  const { user, system } = process.cpuUsage(since);
  return (user + system) / 1000;
}
