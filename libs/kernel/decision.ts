/** Name of a business rule in SCREAMING_SNAKE, for example `TRANSFER_ALREADY_OPEN`. Each has an entry in the API guide. */
export type RuleName = Uppercase<string>;

/** One thing wrong with one input field. `path` is dotted (`input.marks.0.code`); `remedy` says what to write instead. */
export type FieldProblem = { path: string; message: string; remedy: string };

/** One record that stands in the way. `kind` is a plain noun (`transfer`), `id` its id, `remedy` what to do about it. */
export type Blocker = { kind: string; id: string; remedy: string };

/** Why a rule said no, in words a keeper understands, with the fields or records concerned where there are any. */
export type Refusal = { rule: RuleName; message: string; fields?: FieldProblem[]; blockers?: Blocker[] };

/** Outcome of a pure rule: the value it arrived at, or the refusal. Rules return this; they never throw to say no. */
export type Decision<T> = { ok: true; value: T } | { ok: false; refusal: Refusal };

/** A positive decision with the value it arrived at. */
export function decide<T>(value: T): { ok: true; value: T } {
  return { ok: true, value };
}

/** A negative decision: the rule that refused, a message, and the fields or records concerned. */
export function refuse(
  rule: RuleName,
  message: string,
  options: { fields?: FieldProblem[]; blockers?: Blocker[] } = {},
): { ok: false; refusal: Refusal } {
  return { ok: false, refusal: { rule, message, ...options } };
}
