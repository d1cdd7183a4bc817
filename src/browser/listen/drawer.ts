/** The part of the browser's storage that we use. `setItem` throws when there is no room. */
export type Drawer = {
  readonly length: number;
  key(index: number): string | null;
  getItem(name: string): string | null;
  setItem(name: string, text: string): void;
  removeItem(name: string): void;
};

/** Lists all names currently in a drawer. */
export function listKeys(drawer: Drawer | null): string[] {
  if (drawer === null) return [];
  return Array.from({ length: drawer.length }, (_, index) => drawer.key(index)).filter((key) => key !== null);
}
