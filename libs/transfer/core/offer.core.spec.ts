import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { offerTransfer, planOffer } from './offer.core.js';
import { animal, facts, GIVER, item, offered } from './transfer-fixtures.js';

describe('planOffer', () => {
  it('given an animal alive with its owner, offers it', () => {
    expect(planOffer(GIVER, [{ animalId: 'a' }], facts(animal('a')))).toEqual({
      ok: true,
      value: { splits: [], items: [{ animalId: 'a', count: 1, split: false }] },
    });
  });

  it('given a lot without a number, offers all of it', () => {
    const plan = planOffer(GIVER, [{ animalId: 'l' }], facts(animal('l', { kind: 'lot', count: 12 })));
    expect(plan).toMatchObject({ ok: true, value: { splits: [], items: [{ count: 12, split: false }] } });
  });

  it('given a part of a lot, splits it first', () => {
    const plan = planOffer(GIVER, [{ animalId: 'l', count: 5 }], facts(animal('l', { kind: 'lot', count: 12 })));
    expect(plan).toMatchObject({
      ok: true,
      value: { splits: [{ lotId: 'l', count: 5 }], items: [{ count: 5, split: true }] },
    });
  });

  it.each([
    ['dead', animal('a', { fate: 'dead' }), 'TRANSFER_ANIMAL_GONE'],
    ['missing', animal('a', { fate: 'missing' }), 'TRANSFER_ANIMAL_GONE'],
    ['an empty lot', animal('a', { kind: 'lot', count: 0 }), 'TRANSFER_LOT_EMPTY'],
    ['held by another keeper', animal('a', { holderKeeperId: 'other' }), 'TRANSFER_NOT_HELD'],
    ['held by nobody', animal('a', { holderKeeperId: null }), 'TRANSFER_NOT_HELD'],
    ['kept for somebody else', animal('a', { ownership: 'not_owner' }), 'TRANSFER_NOT_OWNED'],
    ['disputed', animal('a', { ownership: 'disputed' }), 'TRANSFER_OWNER_DISPUTED'],
  ])('given an animal that is %s, refuses and names it', (_, at, rule) => {
    const plan = planOffer(GIVER, [{ animalId: 'a' }], facts(at));
    expect(plan).toMatchObject({ ok: false, refusal: { rule, blockers: [{ kind: 'animal', id: 'a' }] } });
  });

  it("given somebody else's animal, does not tell that it died or is promised to another", () => {
    const strange = animal('a', { knownToGiver: false, holderKeeperId: 'other', fate: 'dead', openTransferId: 't9' });
    const plan = planOffer(GIVER, [{ animalId: 'a' }], facts(strange));
    expect(plan).toMatchObject({ refusal: { rule: 'TRANSFER_NOT_HELD', blockers: [{ kind: 'animal', id: 'a' }] } });
  });

  it('given an animal in an open transfer, names that transfer', () => {
    const plan = planOffer(GIVER, [{ animalId: 'a' }], facts(animal('a', { openTransferId: 't9' })));
    expect(plan).toMatchObject({
      ok: false,
      refusal: { rule: 'TRANSFER_OPEN', blockers: [{ kind: 'transfer', id: 't9' }] },
    });
  });

  it('given several animals in the way, names all of them at once', () => {
    const plan = planOffer(
      GIVER,
      [{ animalId: 'a' }, { animalId: 'b' }, { animalId: 'c' }],
      facts(animal('a', { fate: 'dead' }), animal('b'), animal('c', { holderKeeperId: 'other' })),
    );
    expect(plan).toMatchObject({ ok: false, refusal: { blockers: [{ id: 'a' }, { id: 'c' }] } });
  });

  it('given more than the lot holds, more than one individual, nothing, or an animal twice, refuses', () => {
    const lot = facts(animal('l', { kind: 'lot', count: 4 }), animal('a'));
    expect(planOffer(GIVER, [{ animalId: 'l', count: 5 }], lot)).toMatchObject({
      refusal: { rule: 'TRANSFER_TOO_MANY' },
    });
    expect(planOffer(GIVER, [{ animalId: 'a', count: 2 }], lot)).toMatchObject({
      refusal: { rule: 'TRANSFER_TOO_MANY' },
    });
    expect(planOffer(GIVER, [], lot)).toMatchObject({ refusal: { rule: 'TRANSFER_EMPTY' } });
    expect(
      planOffer(
        GIVER,
        [
          { animalId: 'l', count: 1 },
          { animalId: 'l', count: 1 },
        ],
        lot,
      ),
    ).toMatchObject({
      refusal: { rule: 'TRANSFER_ITEM_TWICE' },
    });
  });
});

const TODAY = day('2026-06-01');

describe('offerTransfer', () => {
  it('given a day to answer by that is over, refuses at the field; today is in time', () => {
    const until = (answerBy: string) => offerTransfer({ ...offered(item('a')), answerBy: day(answerBy) }, TODAY);
    expect(until('2026-05-31')).toMatchObject({
      refusal: { rule: 'TRANSFER_ANSWER_DAY_PAST', fields: [{ path: 'input.answerBy' }] },
    });
    expect(until('2026-06-01')).toMatchObject({ ok: true, value: { answerBy: '2026-06-01' } });
  });

  it('starts as offered, at version 1', () => {
    expect(offerTransfer(offered(item('a')), TODAY)).toMatchObject({
      ok: true,
      value: { state: 'offered', version: 1 },
    });
  });

  it('given the giver as receiver, or a gift with a price, refuses', () => {
    const toSelf = { ...offered(item('a')), receiver: { kind: 'keeper' as const, keeperId: GIVER } };
    expect(offerTransfer(toSelf, TODAY)).toMatchObject({ refusal: { rule: 'TRANSFER_TO_SELF' } });
    const priced = { ...offered(item('a')), price: { minor: 100, currency: 'EUR' } };
    expect(offerTransfer(priced, TODAY)).toMatchObject({ refusal: { rule: 'TRANSFER_GIFT_HAS_PRICE' } });
  });
});
