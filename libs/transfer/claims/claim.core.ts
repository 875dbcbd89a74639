import {
  addDays,
  compareDays,
  type Day,
  type Decision,
  decide,
  type FieldProblem,
  refuse,
} from '../../kernel/index.js';
import { type Share } from '../core/transfer.core.js';

/** The number of the claimant among the parties. */
export const CLAIMANT = 1;

/** Somebody who owns an animal by the record, or says so. */
export type ClaimOwner =
  | { readonly kind: 'keeper'; readonly keeperId: string }
  | { readonly kind: 'outside_party'; readonly outsidePartyId: string };

/**
 * Who has a say in a claim, counted from 1, the claimant first. Parts are those by the record when the claim was made, 0 for
 * none, and those of the proposal at hand. `agreedTo` is the proposal this party has agreed to.
 */
export type ClaimParty = {
  readonly number: number;
  readonly owner: ClaimOwner;
  readonly recordedParts: number;
  readonly proposedParts: number | null;
  readonly agreedTo: number | null;
  readonly replied: boolean;
};

/** A claim of ownership: statements that stand beside each other, until it is withdrawn or all sides agree on shares. */
export type Claim = {
  readonly id: string;
  readonly animalId: string;
  /** Counts the proposals; 0 = none yet. */
  readonly proposal: number;
  readonly ended: boolean;
  /** The day on which another party last replied or proposed, while the claimant has not answered; null = it is not its turn. */
  readonly awaitsSince: Day | null;
  readonly parties: readonly ClaimParty[];
};

/**
 * Days a claimant has to answer what another party said, before the claim lapses: a convention of this registry. Whole days, so that
 * the last one can be told.
 */
export const CLAIM_ANSWER_DAYS = 60;
/** Days before the last one on which the claimant is reminded: a convention of this registry. */
export const CLAIM_REMINDER_DAYS = 7;

/** The last day on which the claimant can answer what was said on a day. */
export function answerBy(saidOn: Day): Day {
  return addDays(saidOn, CLAIM_ANSWER_DAYS);
}

/**
 * A claim whose claimant answered nothing is over: the owners by the record are the owners, and what both sides stated stays. Null
 * while it is not the claimant's turn, or there are days left.
 */
export function lapseClaim(claim: Claim, today: Day): Claim | null {
  if (claim.ended || claim.awaitsSince === null) return null;
  return compareDays(today, answerBy(claim.awaitsSince)) > 0 ? { ...claim, ended: true, awaitsSince: null } : null;
}

/** What a claim is decided on, read under lock. */
export type ClaimFacts = {
  readonly claimantId: string;
  readonly owners: readonly { readonly owner: ClaimOwner; readonly parts: number }[];
  readonly disputed: boolean;
  /** It was sent in a transfer and has not arrived. */
  readonly onTheWay: boolean;
  /** A claim of this keeper about it is over, and it has not changed hands since. */
  readonly claimedBefore: boolean;
  /** The claimant has it or owns a share of it today. */
  readonly hasItToday: boolean;
  /** The claimant is a party of the claim that is open. */
  readonly ofOpenClaim: boolean;
  /** The claimant gives or receives it in the transfer it is on the way in. */
  readonly ofTransfer: boolean;
};

/** One text for all of them: what became of an animal after one's own time is not a past holder's to know. */
const NOT_NOW =
  'The animal cannot be claimed at present: it is claimed or on its way, nobody here could answer, or your earlier claim is over. Which of these, only those read who have or own it. Try again later.';

/**
 * Whether the claim can be made, and who has a say in it. That the claimant has to do with the animal is the policy's to say;
 * here only what is possible now. It freezes the property, so it needs a share beyond the record and somebody to answer. Whoever
 * does not read how the animal stands today is refused CLAIM_NOT_NOW, whatever the cause.
 */
export function makeClaim(
  facts: ClaimFacts,
  claimed: { readonly share: Share; readonly since: Day },
  today: Day,
): Decision<ClaimParty[]> {
  if (compareDays(claimed.since, today) > 0) {
    const message = `The day from which you say you own it, ${claimed.since}, has not come yet.`;
    const remedy = `Write ${today} or an earlier day.`;
    return refuse('CLAIM_IN_FUTURE', message, { fields: [{ path: 'input.since', message, remedy }] });
  }
  const unless = (known: boolean, rule: Uppercase<string>, text: string) =>
    known || facts.hasItToday ? refuse(rule, text) : refuse('CLAIM_NOT_NOW', NOT_NOW);
  if (facts.disputed)
    return unless(facts.ofOpenClaim, 'CLAIM_OPEN', 'A claim on this animal is open already. It is settled first.');
  if (facts.onTheWay)
    return unless(
      facts.ofTransfer,
      'CLAIM_ON_THE_WAY',
      'The animal is on its way to another keeper. Claim it once it has arrived.',
    );
  if (facts.claimedBefore)
    return unless(false, 'CLAIM_MADE_BEFORE', 'Your claim on this animal is over, and it has not changed hands since.');
  const whole = facts.owners.reduce((sum, { parts }) => sum + parts, 0);
  const isClaimant = ({ owner }: { owner: ClaimOwner }): boolean =>
    owner.kind === 'keeper' && owner.keeperId === facts.claimantId;
  const own = facts.owners.find(isClaimant)?.parts ?? 0;
  if (claimed.share.parts * whole <= own * claimed.share.of)
    return refuse('CLAIM_ON_RECORD', 'By the record you own that share already.');
  const others = facts.owners.filter((owner) => !isClaimant(owner));
  if (!others.some(({ owner }) => owner.kind === 'keeper'))
    return unless(false, 'CLAIM_UNANSWERABLE', 'No owner by the record has an account here, so nobody could answer.');
  const open = { proposedParts: null, agreedTo: null, replied: false };
  const claimant: ClaimOwner = { kind: 'keeper', keeperId: facts.claimantId };
  return decide([
    { number: CLAIMANT, owner: claimant, recordedParts: own, ...open },
    ...others.map(({ owner, parts }, i) => ({ number: i + 2, owner, recordedParts: parts, ...open })),
  ]);
}

/** Parts for each party, by number. */
export type ProposedShares = readonly { readonly party: number; readonly parts: number }[];

/**
 * One side proposes shares for everybody, and so agrees to them; what was agreed to before is over. An outside party cannot
 * agree, so its part of the whole does not shrink. `by` are the numbers of the proposer.
 */
export function proposeShares(
  claim: Claim,
  by: readonly number[],
  shares: ProposedShares,
  today: Day,
): Decision<Claim> {
  const open = requireOpen(claim);
  if (!open.ok) return open;
  const fields = shareProblems(claim, shares);
  const [first] = fields;
  if (first !== undefined) return refuse('CLAIM_SHARES_MISFIT', `${first.message} ${first.remedy}`, { fields });
  const proposal = claim.proposal + 1;
  const parts = new Map(shares.map((share) => [share.party, share.parts]));
  return decide({
    ...claim,
    proposal,
    awaitsSince: by.includes(CLAIMANT) ? null : today,
    parties: claim.parties.map((party) => ({
      ...party,
      proposedParts: parts.get(party.number) ?? 0,
      agreedTo: by.includes(party.number) ? proposal : null,
    })),
  });
}

function shareProblems(claim: Claim, shares: ProposedShares): FieldProblem[] {
  const path = 'input.shares';
  const numbers = shares.map(({ party }) => party);
  const all = claim.parties.every(({ number }) => numbers.includes(number));
  if (!all || numbers.length !== claim.parties.length) {
    const remedy = `Name each of the ${claim.parties.length} parties once, with 0 for one that shall own nothing.`;
    return [{ path, message: 'The proposal does not name every party once.', remedy }];
  }
  const sum = shares.reduce((total, { parts }) => total + parts, 0);
  if (sum === 0) return [{ path, message: 'Nobody would own the animal.', remedy: 'Give somebody a part.' }];
  const whole = claim.parties.reduce((total, { recordedParts }) => total + recordedParts, 0);
  return shares.flatMap(({ party, parts }, i) => {
    const { owner, recordedParts } = claim.parties.find(({ number }) => number === party) ?? {};
    if (owner?.kind !== 'outside_party' || parts * whole >= (recordedParts ?? 0) * sum) return [];
    const message = `Party ${party} has no account and cannot agree to own less.`;
    return [{ path: `${path}.${i}.parts`, message, remedy: `Leave it ${recordedParts} of ${whole} or more.` }];
  });
}

/** A party agrees to the proposal at hand. Once every party with an account has, the claim is settled. */
export function agreeToShares(
  claim: Claim,
  by: readonly number[],
  proposal: number,
): Decision<{ claim: Claim; settled: boolean }> {
  const open = requireOpen(claim);
  if (!open.ok) return open;
  if (claim.proposal === 0 || claim.proposal !== proposal)
    return refuse('CLAIM_PROPOSAL_CHANGED', 'That proposal is not the one at hand. Read the claim again.');
  const parties = claim.parties.map((party) => (by.includes(party.number) ? { ...party, agreedTo: proposal } : party));
  const settled = parties.every(({ owner, agreedTo }) => owner.kind === 'outside_party' || agreedTo === proposal);
  const awaitsSince = settled || by.includes(CLAIMANT) ? null : claim.awaitsSince;
  return decide({ claim: { ...claim, parties, ended: settled, awaitsSince }, settled });
}

/** The claimant takes the claim back. */
export function withdrawClaim(claim: Claim): Decision<Claim> {
  const open = requireOpen(claim);
  return open.ok ? decide({ ...claim, ended: true, awaitsSince: null }) : open;
}

/** An owner states its side, once. `by` are the numbers of whoever replies; gives the one it stands for. */
export function replyToClaim(claim: Claim, by: readonly number[]): Decision<number> {
  const open = requireOpen(claim);
  if (!open.ok) return open;
  const unanswered = claim.parties.find(
    ({ number, replied }) => by.includes(number) && number !== CLAIMANT && !replied,
  );
  if (unanswered === undefined)
    return refuse('CLAIM_REPLIED', 'Your side is stated already. What was said stays as it is.');
  return decide(unanswered.number);
}

/**
 * The owners a settled claim leaves: whoever has a part, once. A party without an account can have taken its animals up since and
 * be a keeper who is a party too.
 */
export function settledShares({ parties }: Claim): { owner: ClaimOwner; parts: number }[] {
  const shares = new Map<string, { owner: ClaimOwner; parts: number }>();
  for (const { owner, proposedParts } of parties) {
    if (proposedParts === null || proposedParts === 0) continue;
    const key = owner.kind === 'keeper' ? owner.keeperId : owner.outsidePartyId;
    shares.set(key, { owner, parts: proposedParts + (shares.get(key)?.parts ?? 0) });
  }
  return [...shares.values()];
}

function requireOpen(claim: Claim): Decision<null> {
  return claim.ended ? refuse('CLAIM_ENDED', 'This claim is over.') : decide(null);
}
