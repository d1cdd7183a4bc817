/** The part of the browser's storage that is needed. `setItem` throws where there is no room. */
export type Drawer = {
  readonly length: number;
  key(index: number): string | null;
  getItem(name: string): string | null;
  setItem(name: string, text: string): void;
  removeItem(name: string): void;
};

/** All names in a drawer, at this moment. */
export function listKeys(drawer: Drawer | null): string[] {
  if (drawer === null) return [];
  return Array.from({ length: drawer.length }, (_, index) => drawer.key(index)).filter((key) => key !== null);
}
