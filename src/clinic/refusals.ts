/** Answered with a short page in place of the one asked for: there is none, or not for this visitor. */
export class Refusal extends Error {
  readonly status: 401 | 403 | 404 | 409 | 503;

  constructor(status: Refusal['status'], message: string) {
    super(message);
    this.name = 'Refusal';
    this.status = status;
  }
}

/** The same whether something does not exist or belongs to another clinic. */
export const notFound = (message: string) => new Refusal(404, message);
export const conflict = (message: string) => new Refusal(409, message);
/** For a moment only: whoever asks has much under way. */
export const busy = () =>
  new Refusal(503, 'The voice is still speaking other sessions. Please try again in a minute');
export const notAllowed = (message: string) => new Refusal(403, message);
