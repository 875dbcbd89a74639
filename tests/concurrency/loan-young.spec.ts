import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { CorrectBreedingFact, RecordClutch, RecordHatchlings } from '../../libs/breeding/index.js';
import { RecordDeath } from '../../libs/custody/index.js';
import { type Day, day, exactDay } from '../../libs/kernel/index.js';
// Loaded for what it does: young of a loan are followed from here.
import '../../libs/transfer/index.js';
import { PickYoung } from '../../libs/transfer/loan-young/pick-young.js';
import { meet } from '../support/meeting.js';
import { LOAN, titleWorld } from '../support/title-world.js';
import {
  arrived,
  gift,
  holdRow,
  type Party,
  TODAY,
  transferWorld,
  type TransferWorld,
} from '../support/transfer-world.js';

let w: TransferWorld;
let t: ReturnType<typeof titleWorld>;
let pick: PickYoung;
let lender: Party;
let borrower: Party;
let buyer: Party;
beforeAll(async () => {
  w = await transferWorld();
  t = titleWorld(w);
  pick = new PickYoung(w.uow, w.store);
  [lender, borrower, buyer] = [await w.party('Lender'), await w.party('Borrower'), await w.party('Buyer')];
});
afterAll(() => w.close());

/** Outcome of each: 'done', or the rule or code that refused. */
async function outcomes(...attempts: Promise<unknown>[]): Promise<string[]> {
  const settled = await Promise.allSettled(attempts);
  return settled.map((one) => {
    if (one.status === 'fulfilled') return 'done';
    const { rule, code } = one.reason as { rule?: string; code?: string };
    return rule ?? code ?? String(one.reason);
  });
}

const anew = (party: Party) => ({ ...party.viewer, requestId: uuid() });

/** What was done with one of the young since it hatched, in order. */
async function actsAbout(animalId: string): Promise<string[]> {
  const wanted = ['transfer.young-picked', 'animal.died', 'transfer.offered'];
  return (await w.ledger(animalId)).map(({ action }) => action).filter((action) => wanted.includes(action));
}

/** A dam on loan since 2 June, half of whose young are the lender's. */
async function lent(firstPick: 'lender' | 'borrower'): Promise<{ loan: string; dam: string }> {
  const dam = await w.animal(lender);
  const youngSplit = {
    method: 'by_turns' as const,
    lenderParts: 1,
    ofParts: 2,
    firstPick,
    oddOne: 'alternates' as const,
  };
  const open = { recallDays: null, keepCosts: null, vetCosts: null, onDeath: null, value: null, youngBredBy: null };
  const loan = await t.handOver(dam, lender, borrower, { ...LOAN, loanTerms: { ...open, youngSplit } });
  return { loan, dam };
}

async function laid(damId: string, on: Day): Promise<string> {
  const { clutchId } = await new RecordClutch(w.uow).execute(borrower.viewer, {
    damId,
    laid: exactDay(on),
    foundOn: null,
    eggCount: null,
    controlled: 'unknown',
  });
  return clutchId;
}

function hatch(clutchId: string, count: number) {
  const young = { name: null, sex: null, marks: [], eggNumber: null, count: 1, countEstimated: false };
  return new RecordHatchlings(w.uow).execute(anew(borrower), {
    clutchId,
    ...{ keeperId: null, taxonId: null, lineId: null, when: exactDay(TODAY), controlled: 'unknown', originClass: null },
    ...{ since: null, enclosureId: null, young: Array.from({ length: count }, () => young), dam: undefined },
    sire: undefined,
  });
}

/** A loan with one clutch of so many young that nobody has picked. */
async function toPick(count: number, firstPick: 'lender' | 'borrower' = 'lender') {
  const { loan, dam } = await lent(firstPick);
  const clutchId = await laid(dam, day('2026-06-03'));
  const { animalIds } = await hatch(clutchId, count);
  const picking = (by: Party, animalId: string) =>
    pick.execute(anew(by), { transferId: loan, clutchId, animalIds: [animalId] });
  return { loan, clutchId, picking, young: animalIds };
}

describe('young of a loan, held at one barrier and let go together', () => {
  it('two picks of one animal by the side whose turn it is: one happens', async () => {
    const { loan, picking, young } = await toPick(2);
    const [a = ''] = young;
    const barrier = await holdRow(w.url, 'transfer', loan);
    const both = outcomes(picking(lender, a), picking(lender, a));
    await barrier.releaseWhenWaiting(2);
    expect((await both).sort()).toEqual(['LOAN_YOUNG_PICKED', 'done']);
    expect(await w.owners(a)).toEqual([[lender.keeperId, 1]]);
  });

  it('two picks of two animals by one side: it has one turn', async () => {
    const { loan, clutchId, picking, young } = await toPick(4);
    const barrier = await holdRow(w.url, 'transfer', loan);
    const both = outcomes(picking(lender, young[0] ?? ''), picking(lender, young[1] ?? ''));
    await barrier.releaseWhenWaiting(2);
    expect((await both).sort()).toEqual(['LOAN_PICK_NOT_YOURS', 'done']);
    expect(await w.client.loanYoung.count({ where: { clutchId, pickedBy: { not: null } } })).toBe(1);
  });

  it('both sides want one animal at once: the side whose turn it is has it', async () => {
    const { loan, picking, young } = await toPick(2);
    const [a = ''] = young;
    const barrier = await holdRow(w.url, 'transfer', loan);
    const both = outcomes(picking(borrower, a), picking(lender, a));
    await barrier.releaseWhenWaiting(2);
    const [borrowers, lenders] = await both;
    expect(lenders).toBe('done');
    expect(['LOAN_PICK_NOT_YOURS', 'LOAN_YOUNG_PICKED']).toContain(borrowers);
    expect(await w.owners(a)).toEqual([[lender.keeperId, 1]]);
  });

  it('a pick against its death: it died picked, or it is not picked', async () => {
    const { picking, young } = await toPick(3);
    const [a = ''] = young;
    const death = { animalId: a, on: TODAY, cause: null, count: null };
    const barrier = await holdRow(w.url, 'animal', a);
    const both = outcomes(picking(lender, a), new RecordDeath(w.uow).execute(anew(borrower), death));
    await barrier.releaseWhenWaiting(2);
    const [picked, died] = await both;
    expect(died).toBe('done');
    expect(['done', 'LOAN_YOUNG_GONE']).toContain(picked);
    const { pickedBy } = await w.client.loanYoung.findUniqueOrThrow({ where: { animalId: a } });
    expect(pickedBy).toBe(picked === 'done' ? 'lender' : null);
    const acts = await actsAbout(a);
    expect(acts).toEqual(picked === 'done' ? ['transfer.young-picked', 'animal.died'] : ['animal.died']);
  });

  it('a pick against an offer to somebody else: whoever offers it owns it by then, or does not offer it', async () => {
    const { picking, young } = await toPick(2, 'borrower');
    const [a = ''] = young;
    const barrier = await holdRow(w.url, 'animal', a);
    const both = outcomes(picking(borrower, a), w.offer.execute(anew(borrower), gift(borrower, buyer, a)));
    await barrier.releaseWhenWaiting(2);
    const [picked, offered] = await both;
    expect(picked).toBe('done');
    expect(['done', 'TRANSFER_YOUNG_UNDIVIDED']).toContain(offered);
    const open = await w.client.transferItem.count({ where: { animalId: a, open: true } });
    expect(open).toBe(offered === 'done' ? 1 : 0);
    const acts = await actsAbout(a);
    expect(acts).toEqual(['transfer.young-picked', ...(offered === 'done' ? ['transfer.offered'] : [])]);
    expect(await w.owners(a)).toEqual([[borrower.keeperId, 1]]);
  });

  it('two clutches of one loan hatch at once: each has its own number, and all young are of both', async () => {
    const { loan, dam } = await lent('lender');
    const [one, two] = [await laid(dam, day('2026-06-02')), await laid(dam, day('2026-06-08'))];
    const barrier = await holdRow(w.url, 'animal', dam);
    const both = Promise.all([hatch(one, 2), hatch(two, 2)]);
    await barrier.releaseWhenWaiting(2);
    const young = (await both).flatMap(({ animalIds }) => animalIds);
    const clutches = await w.client.loanClutch.findMany({ where: { transferId: loan }, orderBy: { number: 'asc' } });
    expect(clutches.map(({ number }) => number)).toEqual([1, 2]);
    for (const id of young)
      expect((await w.owners(id)).toSorted()).toEqual(
        [
          [lender.keeperId, 1],
          [borrower.keeperId, 1],
        ].toSorted(),
      );
  });
});

/** What `outcomes` gives of one. */
const outcome = async (attempt: Promise<unknown>): Promise<string> => (await outcomes(attempt))[0] ?? '';

/** Lets two acts about one animal meet, the first or the second of them waiting longer. Gives their outcomes in the order given. */
async function race(
  order: 'first' | 'second',
  animalId: string,
  first: () => Promise<unknown>,
  second: () => Promise<unknown>,
): Promise<[string, string]> {
  const row = { table: 'animal' as const, id: animalId };
  const [a, b] = [() => outcome(first()), () => outcome(second())];
  if (order === 'first') return meet(w.url, row, a, b);
  const [done, other] = await meet(w.url, row, b, a);
  return [other, done];
}

/** One animal on its way home from the borrower. Gives the receipt that the lender has still to write. */
async function homeward(animalId: string) {
  const kind = 'loan_return' as const;
  const { transferId } = await w.offer.execute(anew(borrower), { ...gift(borrower, lender, animalId), kind });
  await w.accept.execute(anew(lender), { transferId });
  await w.send.execute(anew(borrower), { transferId, sentOn: TODAY });
  return { transferId, receivedOn: TODAY, items: [arrived(animalId, { well: 1 })] };
}

const holderOf = async (animalId: string): Promise<string | null> =>
  (await w.client.custody.findFirstOrThrow({ where: { animalId, supersededAt: null, validTo: null } })).keeperId;

const ofBoth = () =>
  [
    [lender.keeperId, 1],
    [borrower.keeperId, 1],
  ].toSorted();

describe.each(['first', 'second'] as const)('two acts about young of a loan, the %s before the other', (order) => {
  it('a pick, and a claim of the other side: it is picked and disputed, or disputed and not picked', async () => {
    const { picking, young } = await toPick(2);
    const [a = ''] = young;
    const claim = { animalId: a, share: { parts: 1, of: 1 }, since: TODAY, statement: 'Ours, as we agreed.' };
    const [picked, claimed] = await race(
      order,
      a,
      () => picking(lender, a),
      () => t.claim.execute(anew(borrower), { keeperId: borrower.keeperId, ...claim }),
    );
    expect(claimed).toBe('done');
    expect(picked).toBe(order === 'first' ? 'done' : 'TRANSFER_OWNER_DISPUTED');
    expect((await w.owners(a)).toSorted()).toEqual(order === 'first' ? [[lender.keeperId, 1]] : ofBoth());
    const { pickedBy } = await w.client.loanYoung.findUniqueOrThrow({ where: { animalId: a } });
    expect(pickedBy).toBe(order === 'first' ? 'lender' : null);
    expect((await t.ownership(a)).at(-1)?.state).toBe('disputed');
  });

  it('a pick, and its receipt at home: both happen, and it has one holder and one owner', async () => {
    const { picking, young } = await toPick(2);
    const [a = ''] = young;
    const receipt = await homeward(a);
    const both = await race(
      order,
      a,
      () => picking(lender, a),
      () => w.receive.execute(anew(lender), receipt),
    );
    expect(both).toEqual(['done', 'done']);
    expect(await w.owners(a)).toEqual([[lender.keeperId, 1]]);
    expect(await holderOf(a)).toBe(lender.keeperId);
  });

  it('a pick, and its hatching taken back: whoever comes first', async () => {
    const { picking, young } = await toPick(2);
    const [a = ''] = young;
    const { id: factId } = await w.client.hatching.findFirstOrThrow({ where: { animalId: a } });
    const back = { kind: 'hatching' as const, factId, reason: 'Of another clutch.', takeBack: true };
    const [picked, taken] = await race(
      order,
      a,
      () => picking(lender, a),
      () => new CorrectBreedingFact(w.uow).execute(anew(borrower), { ...back, when: undefined, controlled: undefined }),
    );
    expect(taken).toBe('done');
    expect(picked).toBe(order === 'first' ? 'done' : 'LOAN_YOUNG_NOT_OF_BOTH');
    expect((await w.owners(a)).toSorted()).toEqual(order === 'first' ? [[lender.keeperId, 1]] : ofBoth());
  });

  it('young hatch, and their dam comes home: the young are of both, whichever is written first', async () => {
    const { dam } = await lent('lender');
    const clutchId = await laid(dam, day('2026-06-03'));
    const receipt = await homeward(dam);
    let young: readonly string[] = [];
    const both = await race(
      order,
      dam,
      async () => {
        young = (await hatch(clutchId, 2)).animalIds;
      },
      () => w.receive.execute(anew(lender), receipt),
    );
    expect(both).toEqual(['done', 'done']);
    expect(await holderOf(dam)).toBe(lender.keeperId);
    expect(young).toHaveLength(2);
    for (const id of young) expect((await w.owners(id)).toSorted()).toEqual(ofBoth());
  });
});
