type Place = readonly [x: number, y: number];
export type Reach = { left: number; top: number; right: number; bottom: number };

/** How many numbers each command takes (SVG 1.1, section 8.3), as far as figures use them. */
const counts: Readonly<Record<string, number>> = { m: 2, l: 2, h: 1, v: 1, c: 6, a: 7, z: 0 };
/** Enough for a curve's extent to a hundredth of its size. */
const steps = 8;

/** How far path data reaches, in its own units; curves and arcs are measured at points along them. */
export function reachOfPath(d: string): Reach {
  const places = placesOf(d);
  const [xs, ys] = [places.map(([x]) => x), places.map(([, y]) => y)];
  return { left: Math.min(...xs), top: Math.min(...ys), right: Math.max(...xs), bottom: Math.max(...ys) };
}

function placesOf(d: string): Place[] {
  const places: Place[] = [];
  let at: Place = [0, 0];
  let start: Place = at;
  for (const { command, numbers } of commandsOf(d)) {
    const name = command.toLowerCase();
    const from: Place = command === name ? at : [0, 0];
    const pair = (index: number): Place => [
      from[0] + (numbers[index] ?? 0),
      from[1] + (numbers[index + 1] ?? 0),
    ];
    const before = at;
    if (name === 'z') at = start;
    else if (name === 'h') at = [from[0] + (numbers[0] ?? 0), at[1]];
    else if (name === 'v') at = [at[0], from[1] + (numbers[0] ?? 0)];
    else at = pair(numbers.length - 2);
    if (name === 'm') start = at;
    if (name === 'c') places.push(...alongCurve(before, pair(0), pair(2), at));
    if (name === 'a') places.push(...alongArc(before, numbers, at));
    places.push(at);
  }
  return places;
}

/** Commands with their numbers; those that follow without a letter repeat the one before. */
function commandsOf(d: string): { command: string; numbers: number[] }[] {
  return [...d.matchAll(/([a-z])([^a-z]*)/gi)].flatMap(([, letter = '', written = '']) => {
    const numbers = [...written.matchAll(/-?\d*\.?\d+/g)].map(([each]) => Number(each));
    const count = counts[letter.toLowerCase()] ?? 0;
    if (count === 0) return [{ command: letter, numbers: [] }];
    return Array.from({ length: Math.floor(numbers.length / count) }, (_, index) => ({
      command: index === 0 ? letter : repeated(letter),
      numbers: numbers.slice(index * count, (index + 1) * count),
    }));
  });
}

const repeated = (letter: string): string => ({ M: 'L', m: 'l' })[letter] ?? letter;

function alongCurve(a: Place, b: Place, c: Place, d: Place): Place[] {
  return Array.from({ length: steps }, (_, step): Place => {
    const t = step / steps;
    const [p, q, r, s] = [(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t ** 3];
    return [p * a[0] + q * b[0] + r * c[0] + s * d[0], p * a[1] + q * b[1] + r * c[1] + s * d[1]];
  });
}

/** Points on an arc of a circle; figures have no other arcs. */
function alongArc(a: Place, numbers: readonly number[], b: Place): Place[] {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const apart = Math.hypot(dx, dy);
  if (apart === 0) return [];
  const radius = Math.max(numbers[0] ?? 0, apart / 2);
  const isClockwise = numbers[4] === 1;
  const toCenter = Math.sqrt(radius ** 2 - (apart / 2) ** 2) * ((numbers[3] === 1) === isClockwise ? -1 : 1);
  const center: Place = [
    (a[0] + b[0]) / 2 - (dy / apart) * toCenter,
    (a[1] + b[1]) / 2 + (dx / apart) * toCenter,
  ];
  const angle = ([x, y]: Place) => Math.atan2(y - center[1], x - center[0]);
  const turn = angle(b) - angle(a);
  const sweep = isClockwise ? (turn < 0 ? turn + 2 * Math.PI : turn) : turn > 0 ? turn - 2 * Math.PI : turn;
  return Array.from({ length: steps }, (_, step): Place => {
    const at = angle(a) + (sweep * step) / steps;
    return [center[0] + radius * Math.cos(at), center[1] + radius * Math.sin(at)];
  });
}
