import type { Troubles } from '../../checks/troubles.js';
import type { Resources } from '../../clinic/resources/resources.js';
import type { Log } from '../../log/log.js';
import type { Assets } from '../assets/assets.js';
import type { Pages } from '../templates/render.js';
import type { ListeningLimits } from './listeningLimits.js';

/** The resources for handling requests. Each route and view declares the parts it needs. */
export type HttpResources = Resources & {
  pages: Pages;
  assets: Assets;
  listeningLimits: ListeningLimits;
  /** Work that must never stop but has stopped, by its name in failures; usually none. */
  standsStill: () => readonly string[];
  /** Problems in running the service, for its owners. */
  troubles: Troubles;
  log: Log;
  /** Whether browsers reach the service over https, through a proxy in front of it. */
  https: boolean;
};
