/** The file name that means standard input in every command that reads a program. */
export const standardInput = '-';
