import '../heartbeat.js';
import { progression } from '../../tests/followup/histories.js';
import { playAll, rowsOf, tableOf } from '../../tests/followup/simulated/table.js';

/** A year of two hundred simulated people: compares the advice with each scenario's own rule. */
const years = playAll(progression);
console.log(tableOf(rowsOf(years)));
console.log();
for (const [behaviour, played] of years) {
  const sum = (pick: (year: (typeof played)[number]) => number) =>
    played.reduce((total, year) => total + pick(year), 0) / played.length;
  const [up, down] = [sum(({ stepsUp }) => stepsUp), sum(({ stepsDown }) => stepsDown)];
  console.log(
    `${behaviour}: ${played.length} people, steps up ${up.toFixed(1)}, down ${down.toFixed(1)} a year each`,
  );
}
