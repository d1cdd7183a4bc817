/** The state of a service, for monitoring from outside. */
export type Life = {
  isStopping: boolean;
  /** Work without a heartbeat for too long, such as the sending of warnings. */
  standsStill: () => readonly string[];
  /** Dependencies that are failing and that it cannot work without, by the names of the checks. */
  faults: () => readonly string[];
};
