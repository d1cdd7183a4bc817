/** How a service is doing, for whoever watches it from outside. */
export type Life = {
  isStopping: boolean;
  /** What has shown no sign of life for too long, such as the sending of warnings. */
  standsStill: () => readonly string[];
  /** What it rests on and cannot do its work without, and is at fault, by the names of the checks. */
  faults: () => readonly string[];
};
