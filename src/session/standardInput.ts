/** The name under which every command that reads a program takes standard input. */
export const standardInput = '-';
