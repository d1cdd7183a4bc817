/** 0: done. 1: a check or the work failed. 2: the input is wrong. */
export type ExitCode = 0 | 1 | 2;

/** Given to every command; called when it ran but what it checked did not pass. */
export type ReportFailure = () => void;
