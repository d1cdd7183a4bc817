/** Answered with a short page in place of the one asked for: there is none, or not for this visitor. */
export class Refusal extends Error {
  readonly status: 401 | 403 | 404 | 409;

  constructor(status: Refusal['status'], message: string) {
    super(message);
    this.name = 'Refusal';
    this.status = status;
  }
}

/** The same whether something does not exist or belongs to another clinic. */
export const notFound = (message: string) => new Refusal(404, message);
export const conflict = (message: string) => new Refusal(409, message);
export const notAllowed = (message: string) => new Refusal(403, message);
