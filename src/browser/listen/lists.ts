/** Returns the last item of a list, for browsers without `Array.prototype.at` (Safari before 15.4, MDN). */
export function lastOf<Item>(items: readonly Item[]): Item | undefined {
  return items[items.length - 1];
}
