import type { Troubles } from '../../checks/troubles.js';
import type { Resources } from '../../clinic/resources/resources.js';
import type { Log } from '../../log/log.js';
import type { Assets } from '../assets/assets.js';
import type { Pages } from '../templates/render.js';
import type { ListeningLimits } from './listeningLimits.js';

/** What answering requests rests on. Each route and view names the parts that it takes. */
export type HttpResources = Resources & {
  pages: Pages;
  assets: Assets;
  listeningLimits: ListeningLimits;
  /** Which of the work that must never stand still does so by now, as its failures are called; mostly none. */
  standsStill: () => readonly string[];
  /** What is wrong with the running of the service, for its owners. */
  troubles: Troubles;
  log: Log;
  /** Whether browsers reach the service over https, through a proxy in front of it. */
  https: boolean;
};
