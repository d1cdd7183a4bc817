/** How far back a follow-up goes. */
export const periods = ['4-weeks', '12-weeks', 'year'] as const;
export type Period = (typeof periods)[number];

export const daysOfPeriod: Readonly<Record<Period, number>> = { '4-weeks': 28, '12-weeks': 84, year: 365 };

/** Returns the period in an address; four weeks for any other value. */
export function periodOf(requested: string): Period {
  return periods.find((period) => period === requested) ?? '4-weeks';
}
