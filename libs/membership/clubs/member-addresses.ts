import { DomainError, notFound, type Viewer } from '../../kernel/index.js';
import { type RateLimit, type RateLimits } from '../../platform/rate-limit/index.js';

/**
 * Addresses an account names in a day to give an office to, and nothing comes of it: enough for slips, too few to go through
 * addresses and learn whose are members'.
 */
const IN_VAIN: RateLimit = { name: 'office-addresses', times: 10, seconds: 86_400 };

/**
 * Runs an act that gives an office to whoever has an address, and counts it where that is nobody of the club (`unknown` is what to
 * throw then, the same for an address nobody has), or somebody who has the office. RATE_LIMITED after too many, whatever the address.
 * Each is counted before it is looked up, so that many at once are counted too, and taken back where it was not in vain.
 */
export async function namingAddress<T>(
  limits: RateLimits,
  viewer: Viewer,
  act: (unknown: () => DomainError) => Promise<T>,
): Promise<T> {
  await limits.take(IN_VAIN, viewer.accountId);
  let inVain = false;
  const unknown = (): DomainError => {
    inVain = true;
    return notFound('member');
  };
  try {
    return await act(unknown);
  } catch (error) {
    inVain ||= error instanceof DomainError && error.rule === 'OFFICE_HELD';
    throw error;
  } finally {
    if (!inVain) await limits.giveBack(IN_VAIN, viewer.accountId);
  }
}
