import { type Day, type DayRange, shiftDay } from '../../kernel/index.js';
import { type DamMating, mayLieIn, type SireProposal } from './parent-candidates.core.js';

/** Who can have bred young. */
export type BreederParty =
  | { readonly kind: 'keeper'; readonly keeperId: string }
  | { readonly kind: 'outside_party'; readonly outsidePartyId: string };

/** Whose property a dam was on the days [from, to), by one of her records; nobody = not recorded whose. */
export type OwnedPeriod = DayRange & { readonly owners: readonly BreederParty[]; readonly disputed: boolean };

/** Who counts as breeder by the terms of a loan, whatever is mated on the days [from, to). */
export type AgreedPeriod = DayRange & { readonly breeders: readonly BreederParty[] };

/** One that can be the dam, with what is recorded of her; merged records count as one animal. */
export type BreedingDam = {
  readonly id: string;
  /** The first day on which she can have lived; null = not known. */
  readonly bornFrom: Day | null;
  readonly matings: readonly Pick<DamMating, 'basis' | 'when'>[];
  readonly owned: readonly OwnedPeriod[];
  /** Null = no terms: the owners count. */
  readonly agreed: readonly AgreedPeriod[] | null;
};

export type BreederQuestion = {
  readonly dams: readonly BreedingDam[];
  /** The days on which it was laid, or born, with what the finding and the recording add. */
  readonly laid: { readonly earliest: Day | null; readonly latest: Day };
  /** The days on which a mating can have led to it, see `sireWindow`. */
  readonly window: SireProposal['window'];
};

/**
 * Why somebody counts as breeder, and why it is only possible. `owner_at_laying`: no mating that can have led to it is recorded, so
 * the days of laying count. `owner_varies`: on other days that count somebody else owned the dam, or it is not recorded who.
 */
export const BREEDER_REASONS = [
  'owner_at_mating',
  'owner_at_laying',
  'agreed',
  'owner_unknown',
  'several_dams',
  'owner_varies',
  'disputed',
  'more_than_named',
] as const;
export type BreederReason = (typeof BREEDER_REASONS)[number];

/** `party` null = not known who. */
export type Breeder = {
  readonly party: BreederParty | null;
  readonly sure: 'yes' | 'possible';
  readonly why: readonly BreederReason[];
};

/** Most breeders that are named one by one. */
export const MAX_BREEDERS = 20;

/** One way it can have been: a dam, days through which nothing changes, and who counts then. */
type Way = {
  readonly damId: string;
  readonly by: 'owner_at_mating' | 'owner_at_laying' | 'agreed';
  readonly parties: readonly (BreederParty | null)[];
  readonly disputed: boolean;
  /** Days before the laying, where no mating is recorded: they make unsure and name nobody. */
  readonly onlyDoubts: boolean;
};

/**
 * Who bred the young of a clutch: whoever owned the dam when she was mated, unless terms of a loan say otherwise, wherever
 * they hatch (common practice, no published source). Co-owners bred it together. Conventions of this registry, without a
 * published source:
 * - of recorded matings that can have led to it only the strongest kind counts, as for sires; without one, the days of laying do;
 * - somebody is sure who counts for every dam and on every day that is possible, and is not in dispute;
 * - without a mating, a change of owner while sperm can have been stored leaves it at possible.
 */
export function decideBreeders(question: BreederQuestion): Breeder[] {
  const ways = question.dams.flatMap((dam) => waysOf(dam, question));
  const named = ways.filter(({ onlyDoubts }) => !onlyDoubts);
  const parties = new Map(named.flatMap((way) => way.parties.map((party) => [keyOf(party), party] as const)));
  const breeders = [...parties.values()].map((party) => weigh(party, ways)).toSorted(inOrder);
  if (breeders.length <= MAX_BREEDERS) return breeders;
  return [
    ...breeders.slice(0, MAX_BREEDERS - 1),
    { party: null, sure: 'possible', why: ['owner_unknown', 'more_than_named'] },
  ];
}

/** Text that is the same for the same party. */
export function keyOf(party: BreederParty | null): string {
  if (party === null) return '';
  return party.kind === 'keeper' ? party.keeperId : party.outsidePartyId;
}

function weigh(party: BreederParty | null, ways: readonly Way[]): Breeder {
  const counts = (way: Way): boolean => way.parties.some((each) => keyOf(each) === keyOf(party));
  const own = ways.filter(counts);
  const damIds = new Set(own.map(({ damId }) => damId));
  const without = ways.filter((way) => !counts(way));
  const reasons = new Set<BreederReason>(own.filter(({ onlyDoubts }) => !onlyDoubts).map(({ by }) => by));
  if (party === null) reasons.add('owner_unknown');
  if (without.some(({ damId }) => !damIds.has(damId))) reasons.add('several_dams');
  if (without.some(({ damId }) => damIds.has(damId))) reasons.add('owner_varies');
  if (own.some(({ disputed }) => disputed)) reasons.add('disputed');
  const sure = party !== null && without.length === 0 && !reasons.has('disputed');
  return { party, sure: sure ? 'yes' : 'possible', why: BREEDER_REASONS.filter((reason) => reasons.has(reason)) };
}

/** Sure ones first, the unknown last. */
function inOrder(a: Breeder, b: Breeder): number {
  const rank = ({ party, sure }: Breeder): number => (party === null ? 2 : sure === 'yes' ? 0 : 1);
  return rank(a) - rank(b) || (keyOf(a.party) < keyOf(b.party) ? -1 : 1);
}

/** Days [from, to); `from` null = without a limit. */
type Days = { readonly from: Day | null; readonly to: Day };

function waysOf(dam: BreedingDam, { laid, window }: BreederQuestion): Way[] {
  const alive = ({ from, to }: Days): Days => ({ from: later(from, dam.bornFrom), to });
  const matings = strongest(dam, window)
    .map(({ when: { earliest, latest } }): Days => {
      const last = latest === null || latest > window.until ? window.until : latest;
      return alive({ from: later(earliest, window.from), to: shiftDay(last, 1) });
    })
    .filter(isSome);
  if (matings.length > 0) return matings.flatMap((days) => cut(dam, days, 'owner_at_mating', true));
  const laying = { from: laid.earliest, to: shiftDay(laid.latest, 1) };
  const before = alive({ from: window.from, to: laying.from ?? laying.to });
  // Where it is not known how long sperm is kept, only owners that are recorded leave doubt, and not the days before the records.
  const doubts = isSome(before) ? cut(dam, before, 'owner_at_laying', window.from !== null) : [];
  return [
    ...cut(dam, isSome(alive(laying)) ? alive(laying) : laying, 'owner_at_laying', true),
    ...doubts.map((way) => ({ ...way, onlyDoubts: true })),
  ];
}

/** The matings that can have led to it, of the strongest kind there is. */
function strongest({ matings }: BreedingDam, window: SireProposal['window']): BreedingDam['matings'] {
  const possible = matings.filter(({ when }) => mayLieIn(when, window));
  const basis = STRONG.find((each) => possible.some((mating) => mating.basis === each));
  return basis === undefined ? possible : possible.filter((mating) => mating.basis === basis);
}

const STRONG = ['genetic_test', 'observed'] as const;

function isSome({ from, to }: Days): boolean {
  return from === null || from < to;
}

/** The days in pieces through which nothing changes, each with everybody who counts; `gaps`: also days of which no owner is recorded. */
function cut(dam: BreedingDam, days: Days, by: Way['by'], gaps: boolean): Way[] {
  const agreed = dam.agreed ?? [];
  const edges = [...dam.owned, ...agreed].flatMap(({ from, to }) => (to === null ? [from] : [from, to]));
  const inside = edges.filter((day) => day < days.to && (days.from === null || day > days.from));
  const starts = [days.from, ...[...new Set(inside)].toSorted()];
  return starts.flatMap((start): Way[] => {
    const holds = ({ from, to }: DayRange): boolean => start !== null && from <= start && (to === null || start < to);
    const way = { damId: dam.id, by, disputed: false, onlyDoubts: false };
    const terms = agreed.filter(holds);
    if (terms.length > 0) return terms.map(({ breeders }) => ({ ...way, by: 'agreed', parties: breeders }));
    const owned = dam.owned.filter(holds);
    if (owned.length === 0) return gaps ? [{ ...way, parties: [null] }] : [];
    return owned.map(({ owners, disputed }) => ({ ...way, disputed, parties: owners.length === 0 ? [null] : owners }));
  });
}

function later(a: Day | null, b: Day | null): Day | null {
  return a === null || (b !== null && b > a) ? b : a;
}
