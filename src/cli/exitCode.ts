/** 0: success. 1: a check or the work failed. 2: the input is wrong. */
export type ExitCode = 0 | 1 | 2;

/** Passed to every command; called when the command ran but its check did not pass. */
export type ReportFailure = () => void;
