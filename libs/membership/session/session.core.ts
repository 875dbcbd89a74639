/** Days a session lasts without being renewed. */
export const SESSION_DAYS = 30;
/**
 * Milliseconds in which a used refresh token may come once more: the answer to the first may have been lost on its way. Later,
 * somebody else has a copy.
 */
export const REPEAT_MS = 30_000;

/** What a renewal is decided on. */
export type RenewalFacts = {
  readonly ended: boolean;
  readonly expiresAt: Date;
  /** When the token was used before; null = never. */
  readonly usedAt: Date | null;
};

/** What to do when a refresh token of a session is shown: renew it, end it because two have its token, or nothing, as it is over. */
export function decideRenewal(
  { ended, expiresAt, usedAt }: RenewalFacts,
  now: Date,
): 'renew' | 'end_as_copied' | 'over' {
  if (ended || expiresAt <= now) return 'over';
  if (usedAt !== null && now.getTime() - usedAt.getTime() > REPEAT_MS) return 'end_as_copied';
  return 'renew';
}
