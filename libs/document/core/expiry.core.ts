import { type Day, daysBetween } from '../../kernel/index.js';
import { type Validity } from './document.core.js';

/** Days before the last valid day at which a keeper is told. A project choice: no published source. */
export const LEAD_DAYS = [90, 30, 7] as const;

/** Days after the last valid day during which a lapse is still news; an older paper was recorded for the history. */
export const LAPSE_NEWS_DAYS = 30;

/** The warnings of a document, each given once. */
export type ExpirySlot = '90' | '30' | '7' | 'lapsed';

/** How a document stands on a day. `inDays` 0 of `valid` and `lapsing` is its last valid day. */
export type ExpiryState =
  | { readonly state: 'valid_without_end' }
  | { readonly state: 'not_yet_valid'; readonly inDays: number }
  | { readonly state: 'valid'; readonly inDays: number }
  | { readonly state: 'lapsing'; readonly inDays: number }
  | { readonly state: 'lapsed'; readonly daysAgo: number };

/** State of a document on `on`: `lapsing` within 90 days of its end, counted to the last valid day, which still counts as valid. */
export function expiryState({ validFrom, validUntil }: Validity, on: Day): ExpiryState {
  if (validUntil !== null && validUntil < on) return { state: 'lapsed', daysAgo: daysBetween(validUntil, on) };
  if (validFrom !== null && on < validFrom) return { state: 'not_yet_valid', inDays: daysBetween(on, validFrom) };
  if (validUntil === null) return { state: 'valid_without_end' };
  const inDays = daysBetween(on, validUntil);
  return { state: inDays <= LEAD_DAYS[0] ? 'lapsing' : 'valid', inDays };
}

/**
 * The one warning that is due on `on`: the nearest slot reached. A document recorded 20 days before its end gets the
 * warning of 30 days, not that of 90 as well. Null before 90 days, without an end, before the document is valid, and when
 * it lapsed more than 30 days ago. The same rule stands in SQL (`system-expiry.store.ts`); tests/jobs holds them together.
 */
export function slotDue(validity: Validity, on: Day): ExpirySlot | null {
  const now = expiryState(validity, on);
  if (now.state === 'lapsed') return now.daysAgo <= LAPSE_NEWS_DAYS ? 'lapsed' : null;
  if (now.state !== 'lapsing') return null;
  if (now.inDays <= 7) return '7';
  return now.inDays <= 30 ? '30' : '90';
}
