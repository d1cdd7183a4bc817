import type { Courier } from './courier.js';
import type { Day } from './day.js';
import type { Figures } from './figures.js';
import type { Keeping } from './keeping.js';
import type { MediaControls } from './mediaControls.js';
import type { PlanKeeper } from './planKeeper.js';
import type { Player } from './player.js';
import type { Prompts } from './prompts.js';
import type { Times } from './times.js';
import type { Views } from './views.js';
import type { Volume } from './volume.js';
import type { Wake } from './wake.js';
import type { Words } from './words.js';

/** The shared objects that every view uses; created once, in `main.ts`. */
export type Parts = {
  words: Words;
  views: Views;
  times: Times;
  plans: PlanKeeper;
  day: Day;
  courier: Courier;
  keeping: Keeping;
  prompts: Prompts;
  figures: Figures;
  player: Player;
  controls: MediaControls;
  volume: Volume;
  wake: Wake;
  /** Announces a change to screen readers. */
  announce(text: string): void;
};
