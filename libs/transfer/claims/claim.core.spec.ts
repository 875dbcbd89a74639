import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import {
  answerBy,
  lapseClaim,
  agreeToShares,
  type Claim,
  type ClaimFacts,
  type ClaimOwner,
  makeClaim,
  proposeShares,
  replyToClaim,
  settledShares,
  withdrawClaim,
} from './claim.core.js';

const TODAY = day('2026-06-10');
const keeper = (keeperId: string): ClaimOwner => ({ kind: 'keeper', keeperId });
const OUTSIDE: ClaimOwner = { kind: 'outside_party', outsidePartyId: 'o' };
const FACTS: ClaimFacts = {
  claimantId: 'claimant',
  owners: [{ owner: keeper('owner'), parts: 1 }],
  disputed: false,
  onTheWay: false,
  claimedBefore: false,
  hasItToday: true,
  ofOpenClaim: false,
  ofTransfer: false,
};
const HALF = { share: { parts: 1, of: 2 }, since: day('2026-01-01') };
const rule = (facts: Partial<ClaimFacts>, claimed = HALF) => {
  const decision = makeClaim({ ...FACTS, ...facts }, claimed, TODAY);
  return decision.ok ? 'made' : decision.refusal.rule;
};

/** An open claim on an animal of these owners, nobody else's. */
function claim(...owners: [ClaimOwner, number][]): Claim {
  const made = makeClaim({ ...FACTS, owners: owners.map(([owner, parts]) => ({ owner, parts })) }, HALF, TODAY);
  if (!made.ok) throw new Error(made.refusal.message);
  return { id: 'claim', animalId: 'a', proposal: 0, ended: false, awaitsSince: null, parties: made.value };
}
const shares = (...parts: number[]) => parts.map((part, i) => ({ party: i + 1, parts: part }));
function proposed(on: Claim, by: number, ...parts: number[]): Claim {
  const decision = proposeShares(on, [by], shares(...parts), TODAY);
  if (!decision.ok) throw new Error(decision.refusal.message);
  return decision.value;
}

describe('making a claim', () => {
  it('the claimant is the first party, with what it owns by the record', () => {
    const owners = [
      { owner: keeper('owner'), parts: 2 },
      { owner: keeper('claimant'), parts: 1 },
    ];
    expect(makeClaim({ ...FACTS, owners }, HALF, TODAY)).toMatchObject({
      value: [
        { number: 1, owner: keeper('claimant'), recordedParts: 1 },
        { number: 2, owner: keeper('owner'), recordedParts: 2 },
      ],
    });
  });

  it('is refused where it cannot be answered, is on record, or comes at the wrong time', () => {
    expect(rule({})).toBe('made');
    expect(rule({ disputed: true })).toBe('CLAIM_OPEN');
    expect(rule({ onTheWay: true })).toBe('CLAIM_ON_THE_WAY');
    expect(rule({ claimedBefore: true })).toBe('CLAIM_MADE_BEFORE');
    expect(rule({ owners: [{ owner: OUTSIDE, parts: 1 }] })).toBe('CLAIM_UNANSWERABLE');
    expect(rule({}, { ...HALF, since: day('2026-06-11') })).toBe('CLAIM_IN_FUTURE');
    const both = [
      { owner: keeper('owner'), parts: 1 },
      { owner: keeper('claimant'), parts: 1 },
    ];
    expect(rule({ owners: both })).toBe('CLAIM_ON_RECORD');
    expect(rule({ owners: both }, { ...HALF, share: { parts: 2, of: 3 } })).toBe('made');
  });
});

describe('a refusal to somebody who does not read how the animal stands today', () => {
  const past = (facts: Partial<ClaimFacts>) => {
    const decision = makeClaim({ ...FACTS, hasItToday: false, ...facts }, HALF, TODAY);
    return decision.ok ? 'made' : `${decision.refusal.rule} ${decision.refusal.message}`;
  };

  it('is the same whatever the cause', () => {
    const told = [
      past({ disputed: true }),
      past({ onTheWay: true }),
      past({ claimedBefore: true }),
      past({ owners: [{ owner: OUTSIDE, parts: 1 }] }),
    ];
    expect(new Set(told).size).toBe(1);
    expect(told[0]).toMatch(/^CLAIM_NOT_NOW /);
  });

  it('names the claim it is a party of, and the transfer it takes part in', () => {
    expect(past({ disputed: true, ofOpenClaim: true })).toMatch(/^CLAIM_OPEN /);
    expect(past({ onTheWay: true, ofTransfer: true })).toMatch(/^CLAIM_ON_THE_WAY /);
    expect(past({ disputed: true, onTheWay: true, ofTransfer: true })).toMatch(/^CLAIM_NOT_NOW /);
    expect(past({})).toBe('made');
  });
});

describe('settling a claim', () => {
  it('both sides agree on shares: the one that proposed has agreed, the other one settles it', () => {
    const half = proposed(claim([keeper('owner'), 1]), 1, 1, 1);
    expect(half).toMatchObject({ proposal: 1, parties: [{ agreedTo: 1 }, { agreedTo: null }] });
    const decision = agreeToShares(half, [2], 1);
    if (!decision.ok) throw new Error(decision.refusal.message);
    expect(decision.value.settled).toBe(true);
    expect(settledShares(decision.value.claim)).toEqual([
      { owner: keeper('claimant'), parts: 1 },
      { owner: keeper('owner'), parts: 1 },
    ]);
    expect(agreeToShares(decision.value.claim, [2], 1)).toMatchObject({ refusal: { rule: 'CLAIM_ENDED' } });
  });

  it('a keeper who turned out to be two of the parties owns the parts of both', () => {
    const two = claim([keeper('owner'), 1], [OUTSIDE, 1]);
    const taken = {
      ...two,
      parties: two.parties.map((each) => (each.number === 3 ? { ...each, owner: keeper('claimant') } : each)),
    };
    const decision = agreeToShares(proposed(taken, 2, 1, 3, 2), [1, 3], 1);
    if (!decision.ok) throw new Error(decision.refusal.message);
    expect(settledShares(decision.value.claim)).toEqual([
      { owner: keeper('claimant'), parts: 3 },
      { owner: keeper('owner'), parts: 3 },
    ]);
  });

  it('a new proposal undoes agreement to the one before, and an old one is not agreed to', () => {
    const again = proposed(proposed(claim([keeper('owner'), 1]), 1, 1, 0), 2, 0, 1);
    expect(again).toMatchObject({ proposal: 2, parties: [{ agreedTo: null }, { agreedTo: 2 }] });
    expect(agreeToShares(again, [1], 1)).toMatchObject({ refusal: { rule: 'CLAIM_PROPOSAL_CHANGED' } });
    expect(agreeToShares(claim([keeper('owner'), 1]), [2], 0)).toMatchObject({
      refusal: { rule: 'CLAIM_PROPOSAL_CHANGED' },
    });
  });

  it('one of several owners cannot give away the share of another', () => {
    const three = proposed(claim([keeper('owner'), 1], [keeper('second'), 1]), 1, 1, 1, 0);
    expect(agreeToShares(three, [2], 1)).toMatchObject({ value: { settled: false } });
    expect(agreeToShares(three, [2, 3], 1)).toMatchObject({ value: { settled: true } });
  });

  it('a party without an account is not asked, and keeps its part of the whole', () => {
    const on = claim([keeper('owner'), 1], [OUTSIDE, 1]);
    expect(proposeShares(on, [1], shares(2, 1, 1), TODAY)).toMatchObject({
      refusal: { rule: 'CLAIM_SHARES_MISFIT', fields: [{ path: 'input.shares.2.parts' }] },
    });
    expect(agreeToShares(proposed(on, 1, 1, 1, 2), [2], 1)).toMatchObject({ value: { settled: true } });
  });

  it('a proposal names every party once and leaves somebody a part', () => {
    const on = claim([keeper('owner'), 1]);
    const misfit = { refusal: { rule: 'CLAIM_SHARES_MISFIT' } };
    expect(proposeShares(on, [1], shares(1), TODAY)).toMatchObject(misfit);
    expect(proposeShares(on, [1], shares(0, 0), TODAY)).toMatchObject(misfit);
    expect(proposeShares(on, [1], [...shares(1, 1), { party: 2, parts: 1 }], TODAY)).toMatchObject(misfit);
  });

  it('the claimant takes it back, and an owner states its side once', () => {
    const on = claim([keeper('owner'), 1]);
    expect(withdrawClaim(on)).toMatchObject({ value: { ended: true } });
    expect(replyToClaim(on, [2])).toEqual({ ok: true, value: 2 });
    const replied = { ...on, parties: on.parties.map((party) => ({ ...party, replied: party.number === 2 })) };
    expect(replyToClaim(replied, [2])).toMatchObject({ refusal: { rule: 'CLAIM_REPLIED' } });
    expect(replyToClaim(on, [1])).toMatchObject({ refusal: { rule: 'CLAIM_REPLIED' } });
  });
});

describe('a claim whose claimant is silent', () => {
  const spoken = { ...claim([keeper('owner'), 1]), awaitsSince: TODAY };
  const last = answerBy(TODAY);

  it('lapses the day after the last one for an answer, and not before', () => {
    expect(last).toBe('2026-08-09'); // 60 days after 2026-06-10, by the calendar
    expect(lapseClaim(spoken, last)).toBeNull();
    expect(lapseClaim(spoken, day('2026-08-10'))).toMatchObject({ ended: true, awaitsSince: null });
  });

  it('does not lapse while it is the other side’s turn', () => {
    const years = day('2036-01-01');
    expect(lapseClaim(claim([keeper('owner'), 1]), years)).toBeNull();
    expect(lapseClaim(proposed(spoken, 1, 1, 1), years)).toBeNull();
    expect(lapseClaim({ ...spoken, ended: true }, years)).toBeNull();
  });

  it('is the claimant’s turn after an owner’s proposal, until it answers', () => {
    const on = proposed(claim([keeper('owner'), 1], [keeper('second'), 1]), 2, 1, 1, 1);
    expect(on.awaitsSince).toBe(TODAY);
    const other = agreeToShares(on, [3], 1);
    expect(other.ok && other.value.claim.awaitsSince).toBe(TODAY);
    const own = agreeToShares(on, [1], 1);
    expect(own.ok && own.value.claim.awaitsSince).toBeNull();
    expect(proposed(on, 1, 1, 1, 1).awaitsSince).toBeNull();
  });
});
