import type { Blocker, FieldProblem, Refusal, RuleName } from './decision.js';

/** Every error code a client can receive. INTERNAL is made by the mapper alone, for what nobody foresaw. */
export type ErrorCode =
  | 'UNAUTHENTICATED'
  | 'FORBIDDEN'
  | 'NOT_FOUND'
  | 'INVALID_INPUT'
  | 'RULE_REFUSED'
  | 'STALE_VERSION'
  | 'BUSY'
  | 'UNAVAILABLE'
  | 'RATE_LIMITED'
  | 'INTERNAL';

/** An error meant for the client: its message may be shown as it is. `fields` and `blockers` are empty where none apply. */
export class DomainError extends Error {
  override readonly name = 'DomainError';
  readonly code: ErrorCode;
  readonly rule: RuleName | undefined;
  readonly fields: readonly FieldProblem[];
  readonly blockers: readonly Blocker[];

  constructor(
    code: ErrorCode,
    message: string,
    details: { rule?: RuleName; fields?: readonly FieldProblem[]; blockers?: readonly Blocker[] } = {},
  ) {
    super(message);
    this.code = code;
    this.rule = details.rule;
    this.fields = details.fields ?? [];
    this.blockers = details.blockers ?? [];
  }
}

/** Nobody is signed in, or the sign-in has lapsed. */
export function unauthenticated(): DomainError {
  return new DomainError('UNAUTHENTICATED', 'Sign in first.');
}

/** Signed in, may know that the thing exists, may not do this. For what the viewer may not see use `notFound`. */
export function forbidden(message: string): DomainError {
  return new DomainError('FORBIDDEN', message);
}

/**
 * Nothing to see under this id, or whatever else `by` says it was named by. `what` is a plain noun (`animal`). The text is the same whether the thing does not
 * exist or may not be seen, and never repeats the id: an answer that differed would tell a stranger what exists.
 */
export function notFound(what: string, by = 'id'): DomainError {
  return new DomainError('NOT_FOUND', `No ${what} with this ${by} is visible to you.`);
}

/** The input cannot be understood; every problem found is listed, not only the first. Throws RangeError on an empty list. */
export function invalidInput(fields: readonly FieldProblem[]): DomainError {
  const [first] = fields;
  if (first === undefined) throw new RangeError('invalidInput needs at least one field problem');
  const message = fields.length === 1 ? first.message : `${fields.length} fields need correction.`;
  return new DomainError('INVALID_INPUT', message, { fields });
}

/** A rule said no: the refusal of a `Decision`, as an error. */
export function ruleRefused(refusal: Refusal): DomainError {
  return new DomainError('RULE_REFUSED', refusal.message, refusal);
}

/** Someone else changed the record since the viewer read it. `what` is a plain noun; versions where they are known. */
export function staleVersion(what: string, versions?: { expected: number; current: number }): DomainError {
  const detail = versions ? ` (you read version ${versions.expected}, it is now at ${versions.current})` : '';
  return new DomainError(
    'STALE_VERSION',
    `This ${what} was changed after you read it${detail}. Read it again, then repeat what still applies.`,
  );
}

/** Too many writers met on the same records; the same request may be sent again as it is. */
export function busy(): DomainError {
  return new DomainError('BUSY', 'Others are changing the same records just now. Send the same request again.');
}

/** A part of the server does not answer. `what` names it in plain words (`The mail service`). */
export function unavailable(what: string): DomainError {
  return new DomainError('UNAVAILABLE', `${what} is not available at the moment. Try again later.`);
}

/** The caller did something more often than allowed; it is possible again after `waitSeconds`. */
export function rateLimited(waitSeconds: number): DomainError {
  const wait = waitSeconds < 120 ? `${waitSeconds} seconds` : `${Math.ceil(waitSeconds / 60)} minutes`;
  return new DomainError('RATE_LIMITED', `Too many requests in a short time. Try again in ${wait}.`);
}
