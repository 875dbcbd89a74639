/** Who has an animal. */
export type Holder =
  | { readonly kind: 'keeper'; readonly keeperId: string }
  | { readonly kind: 'outside_party'; readonly outsidePartyId: string }
  | { readonly kind: 'carrier' | 'veterinarian' | 'authority' | 'unknown' };

/** Who owns a share, and how many of all the parts. */
export type OwnerShare = {
  readonly owner: Extract<Holder, { kind: 'keeper' | 'outside_party' }>;
  readonly parts: number;
};

/**
 * How a period with a holder begins. `raised`, `joined`: out of a lot, or into one. `found`: back after it was missing, stolen
 * or escaped, `returned`: back from an authority. `lost` begins the time in which nobody knows who has it.
 */
export const ARRIVALS = [
  'registered',
  'born',
  'received',
  'split',
  'raised',
  'joined',
  'taken_up',
  'returned',
  'found',
  'lost',
] as const;
export type Arrival = (typeof ARRIVALS)[number];

/**
 * How a period with a holder ends. `split`, `joined`, `raised`: all of a lot went on as other records; `merged`: the animal goes
 * on in another record.
 */
export const DEPARTURES = [
  'given',
  'died',
  'split',
  'joined',
  'raised',
  'missing',
  'stolen',
  'escaped',
  'seized',
  'surrendered',
  'left_registry',
  'found',
  'returned',
  'merged',
] as const;
export type Departure = (typeof DEPARTURES)[number];

/** A period with one holder: half-open days, `to` null while it lasts. */
export type CustodyPeriod = {
  readonly id: string;
  readonly animalId: string;
  readonly holder: Holder;
  readonly from: string;
  readonly to: string | null;
};

/** Whether two holders are the same party. Two carriers, or two unknown holders, cannot be told apart and count as one. */
export function sameHolder(a: Holder, b: Holder): boolean {
  if (a.kind === 'keeper') return b.kind === 'keeper' && a.keeperId === b.keeperId;
  if (a.kind === 'outside_party') return b.kind === 'outside_party' && a.outsidePartyId === b.outsidePartyId;
  return a.kind === b.kind;
}
