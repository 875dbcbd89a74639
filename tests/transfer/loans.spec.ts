import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { type GoneFate } from '../../libs/custody/core/whereabouts.core.js';
import { loseFromLot, recordDeath, recordGone, splitLot } from '../../libs/custody/index.js';
import { recordBack } from '../../libs/custody/store/fate-write.store.js';
import { day, exactDay } from '../../libs/kernel/index.js';
import { DUE, loanWorld, TERMS } from '../support/loan-world.js';
import { RECEIVED, titleWorld } from '../support/title-world.js';
import { arrived, gift, type Party, TODAY, transferWorld, type TransferWorld } from '../support/transfer-world.js';

let w: TransferWorld;
let l: ReturnType<typeof loanWorld>;
let t: ReturnType<typeof titleWorld>;
let lender: Party;
let borrower: Party;
let stranger: Party;
let helper: Party;
beforeAll(async () => {
  w = await transferWorld();
  l = loanWorld(w);
  t = titleWorld(w);
  [lender, borrower, stranger] = [await w.party('Lender'), await w.party('Borrower'), await w.party('Stranger')];
  const { viewer } = await w.party('Helper');
  helper = {
    keeperId: borrower.keeperId,
    viewer: { ...viewer, keepers: [{ keeperId: borrower.keeperId, role: 'helper' }] },
  };
});
afterAll(() => w.close());

type Options = Parameters<typeof l.lend>[3];

/** One animal lent; what is with the borrower unless told otherwise. */
async function lent(options?: Options): Promise<{ animal: string; transferId: string }> {
  const animal = await w.animal(lender);
  return { animal, transferId: await l.lend(lender, borrower, [animal], options) };
}

/** Home again: the return of an animal, received by its owner. */
async function goHome(animal: string): Promise<void> {
  await w.receive.execute(lender.viewer, await l.sendHome(borrower, lender, animal));
}

/** Gone without being dead, and known to no keeper where. */
async function gone(animalId: string, fate: GoneFate, from: Party = borrower, on = TODAY): Promise<void> {
  const said = { animalId, keeperId: from.keeperId, on, when: exactDay(on), said: {} };
  await w.uow.writeAsServer(null, (tx) => recordGone(tx, { ...said, fate, movesCustody: true }));
}

describe('terms of a loan', () => {
  it('come back as they were offered, and stay with the loan', async () => {
    const terms = {
      recallDays: 0,
      keepCosts: 'shared',
      vetCosts: 'lender',
      onDeath: 'value_due',
      value: { minor: 12_345, currency: 'EUR' },
      youngSplit: { method: 'by_turns', lenderParts: 7, ofParts: 10, firstPick: 'borrower', oddOne: 'paid_out' },
      youngBredBy: 'both',
    } as const;
    const { transferId } = await lent({ terms });
    expect((await w.store.getVisible(borrower.viewer, transferId)).transfer.loanTerms).toEqual(terms);
    const { transferId: open } = await lent({ terms: null });
    expect((await w.store.getVisible(lender.viewer, open)).transfer.loanTerms).toBeNull();
    const [entry] = await w.ledger(transferId);
    expect(entry?.body['loanTerms']).toMatchObject({ recallDays: 0, youngSplit: terms.youngSplit });
    expect(JSON.stringify(entry?.body)).not.toMatch(/[:"]12345\b/);
  });

  it('are of a breeding loan, and of nothing else', async () => {
    const animal = await w.animal(lender);
    await expect(
      w.offer.execute(lender.viewer, { ...gift(lender, borrower, animal), loanTerms: TERMS }),
    ).rejects.toMatchObject({ rule: 'TRANSFER_TERMS_MISFIT' });
  });
});

describe('another last day of a loan', () => {
  it('is asked for by one side and agreed to by the other; the day before stays known', async () => {
    const { transferId } = await lent();
    await l.ask.execute(borrower.viewer, { transferId, dueBack: day('2026-10-01') });
    expect(await l.dueBack(transferId)).toBe(DUE);
    const first = await l.openAsk(transferId);
    await expect(l.answer.execute(borrower.viewer, { extensionId: first, agree: true })).rejects.toMatchObject({
      code: 'FORBIDDEN',
    });
    await l.answer.execute(lender.viewer, { extensionId: first, agree: false });
    expect(await l.dueBack(transferId)).toBe(DUE);
    await l.ask.execute(lender.viewer, { transferId, dueBack: day('2026-08-01') });
    await l.answer.execute(helper.viewer, { extensionId: await l.openAsk(transferId), agree: true });
    expect(await l.dueBack(transferId)).toBe('2026-08-01');
    expect((await l.facts(transferId)).days).toMatchObject([
      { askedBy: 'borrower', dueBack: '2026-10-01', dueBackBefore: DUE, outcome: 'declined' },
      { askedBy: 'lender', dueBack: '2026-08-01', dueBackBefore: DUE, outcome: 'agreed' },
    ]);
    const acts = (await w.ledger(transferId)).filter(({ action }) => action.startsWith('transfer.loan-'));
    expect(acts.map(({ action, body }) => [action, body['by'], body['agreed']])).toEqual([
      ['transfer.loan-day-asked', 'borrower', undefined],
      ['transfer.loan-day-answered', 'lender', false],
      ['transfer.loan-day-asked', 'lender', undefined],
      ['transfer.loan-day-answered', 'borrower', true],
    ]);
    const told = await w.client.outboxMessage.findMany({ where: { job: 'transfer.tell-other-side' } });
    const news = told.map(({ payload }) => payload as { transferId: string; keeperId: string; what: string });
    expect(
      news.filter((each) => each.transferId === transferId && each.what.startsWith('loan')).map((each) => each),
    ).toMatchObject([
      { keeperId: lender.keeperId, what: 'loan_day_asked' },
      { keeperId: borrower.keeperId, what: 'loan_day_declined' },
      { keeperId: borrower.keeperId, what: 'loan_day_asked' },
      { keeperId: lender.keeperId, what: 'loan_day_agreed' },
    ]);
  });

  it('is for the two sides: a stranger finds neither loan nor ask, and who asked takes it back', async () => {
    const { transferId } = await lent();
    await l.ask.execute(borrower.viewer, { transferId, dueBack: day('2026-10-01') });
    const extensionId = await l.openAsk(transferId);
    for (const attempt of [
      () => l.ask.execute(stranger.viewer, { transferId, dueBack: day('2026-10-01') }),
      () => l.recall.execute(stranger.viewer, { transferId, dueBack: day('2026-07-01') }),
      () => l.answer.execute(stranger.viewer, { extensionId, agree: true }),
      () => l.withdraw.execute(stranger.viewer, { extensionId }),
      () => l.answer.execute(lender.viewer, { extensionId: transferId, agree: true }),
    ])
      await expect(attempt()).rejects.toMatchObject({ code: 'NOT_FOUND' });
    await expect(l.withdraw.execute(lender.viewer, { extensionId })).rejects.toMatchObject({ code: 'FORBIDDEN' });
    await l.withdraw.execute(borrower.viewer, { extensionId });
    await expect(l.answer.execute(lender.viewer, { extensionId, agree: true })).rejects.toMatchObject({
      rule: 'LOAN_DAY_ANSWERED',
    });
  });

  it('is asked for once at a time', async () => {
    const { transferId } = await lent();
    await l.ask.execute(borrower.viewer, { transferId, dueBack: day('2026-10-01') });
    await expect(l.ask.execute(lender.viewer, { transferId, dueBack: day('2026-10-02') })).rejects.toMatchObject({
      rule: 'LOAN_DAY_ASKED',
    });
  });

  it('of what was read: another version is refused', async () => {
    const { transferId } = await lent();
    const { transfer } = await w.store.getVisible(borrower.viewer, transferId);
    const asked = { transferId, dueBack: day('2026-10-01'), expectedVersion: transfer.version };
    await l.ask.execute(borrower.viewer, asked);
    await expect(l.recall.execute(lender.viewer, { ...asked, dueBack: day('2026-07-01') })).rejects.toMatchObject({
      code: 'STALE_VERSION',
    });
  });
});

describe('a recall', () => {
  it('sets an earlier day without asking, and ends the ask that waits', async () => {
    const { transferId } = await lent();
    await l.ask.execute(borrower.viewer, { transferId, dueBack: day('2026-10-01') });
    await expect(l.recall.execute(borrower.viewer, { transferId, dueBack: day('2026-07-01') })).rejects.toMatchObject({
      code: 'FORBIDDEN',
    });
    await expect(l.recall.execute(lender.viewer, { transferId, dueBack: day('2026-06-23') })).rejects.toMatchObject({
      rule: 'LOAN_RECALL_TOO_SOON',
    });
    await l.recall.execute(lender.viewer, { transferId, dueBack: day('2026-06-24') });
    expect(await l.dueBack(transferId)).toBe('2026-06-24');
    expect((await l.facts(transferId)).days).toMatchObject([{ outcome: 'ended_by_recall' }, { outcome: 'recalled' }]);
  });

  it('without days in the terms is by agreement only', async () => {
    const { transferId } = await lent({ terms: null });
    await expect(l.recall.execute(lender.viewer, { transferId, dueBack: day('2026-07-01') })).rejects.toMatchObject({
      rule: 'LOAN_RECALL_NOT_AGREED',
      message: expect.stringContaining('askLoanExtension'),
    });
  });
});

describe('when a loan is over', () => {
  it('nothing of it is with the borrower: one home, the other dead', async () => {
    const [one, other] = [await w.animal(lender), await w.animal(lender)];
    const transferId = await l.lend(lender, borrower, [one, other]);
    await goHome(one);
    expect((await l.facts(transferId)).out).toEqual([other]);
    expect(await l.mine(borrower, ['open'])).toContain(transferId);
    await w.uow.writeAsServer(null, (tx) =>
      recordDeath(tx, { animalId: other, on: TODAY, keeperId: borrower.keeperId, cause: 'old age' }),
    );
    expect(await l.facts(transferId)).toMatchObject({ out: [], deaths: [{ animalId: other, on: TODAY, count: 1 }] });
    expect(await l.mine(lender, ['over'])).toContain(transferId);
    await expect(l.ask.execute(borrower.viewer, { transferId, dueBack: day('2026-10-01') })).rejects.toMatchObject({
      rule: 'LOAN_OVER',
    });
  });

  it('a return that was refused leaves it open', async () => {
    const { animal, transferId } = await lent();
    const receipt = await l.sendHome(borrower, lender, animal);
    await w.receive.execute(lender.viewer, { ...receipt, items: [arrived(animal, { refused: 1 })] });
    expect((await l.facts(transferId)).out).toEqual([animal]);
  });

  it.each(['missing', 'stolen', 'escaped', 'seized', 'surrendered', 'left_registry'] as const)(
    'what is %s out of the borrower’s keeping is still owed, until it is found dead',
    async (fate) => {
      const { animal, transferId } = await lent();
      await gone(animal, fate);
      expect((await l.facts(transferId)).out).toEqual([animal]);
      expect(await l.mine(lender, ['overdue'], day('2026-09-02'))).toContain(transferId);
      await w.uow.writeAsServer(null, (tx) =>
        recordDeath(tx, { animalId: animal, on: TODAY, keeperId: borrower.keeperId, cause: 'found dead' }),
      );
      expect(await l.facts(transferId)).toMatchObject({ out: [], deaths: [{ animalId: animal, on: TODAY, count: 1 }] });
    },
  );

  it('what is missing is found and goes home; lost there, it is not the borrower’s to find', async () => {
    const { animal, transferId } = await lent();
    await gone(animal, 'missing', borrower, RECEIVED);
    const found = { animalId: animal, keeperId: borrower.keeperId, on: RECEIVED, when: exactDay(RECEIVED), said: {} };
    await w.uow.writeAsServer(null, (tx) => recordBack(tx, found));
    await goHome(animal);
    await gone(animal, 'missing', lender);
    expect((await l.facts(transferId)).out).toEqual([]);
    expect(await l.mine(lender, ['over'])).toContain(transferId);
  });

  it('of a lot on its way home, what is refused or does not arrive is still the borrower’s to give back', async () => {
    const lot = await w.animal(lender, { lotOf: 8 });
    const transferId = await l.lend(lender, borrower, [lot], { counts: [8] });
    const receipt = await l.sendHome(borrower, lender, lot);
    const items = [arrived(lot, { well: 5, missing: 2, refused: 1 })];
    await w.receive.execute(lender.viewer, { ...receipt, items });
    const parts = await w.client.lotChange.findMany({ where: { lotId: lot, cause: 'split_out' } });
    expect(parts.map(({ delta }) => delta).sort()).toEqual([-1, -2]);
    expect((await l.facts(transferId)).out).toEqual(parts.map(({ counterpartId }) => counterpartId ?? '').sort());
  });

  it('is told of each loan apart when an animal is lent again', async () => {
    const { animal, transferId } = await lent();
    await goHome(animal);
    const again = await w.offer.execute(lender.viewer, {
      ...gift(lender, borrower, animal),
      kind: 'breeding_loan',
      dueBack: day('2026-12-01'),
    });
    await w.accept.execute(borrower.viewer, { transferId: again.transferId });
    await w.client.quarantineEntry.deleteMany({ where: { animalId: animal } });
    await w.send.execute(lender.viewer, { transferId: again.transferId, sentOn: TODAY });
    await w.receive.execute(borrower.viewer, {
      transferId: again.transferId,
      receivedOn: TODAY,
      items: [arrived(animal, { well: 1 })],
    });
    expect((await l.facts(transferId)).out).toEqual([]);
    expect((await l.facts(again.transferId)).out).toEqual([animal]);
  });

  it('the borrower who becomes the owner has nothing to return', async () => {
    const { animal, transferId } = await lent();
    const { claimId } = await t.claim.execute(borrower.viewer, {
      keeperId: borrower.keeperId,
      animalId: animal,
      share: { parts: 1, of: 1 },
      since: RECEIVED,
      statement: 'I bought it.',
    });
    expect((await l.facts(transferId)).out).toEqual([animal]);
    const shares = [
      { party: 1, parts: 1 },
      { party: 2, parts: 0 },
    ];
    await t.propose.execute(borrower.viewer, { claimId, shares });
    await t.agree.execute(lender.viewer, { claimId, proposal: 1 });
    expect(await w.owners(animal)).toEqual([[borrower.keeperId, 1]]);
    expect((await l.facts(transferId)).out).toEqual([]);
  });

  it('of a lot, what the borrower split off comes back too; deaths on the way are not the borrower’s', async () => {
    const lot = await w.animal(lender, { lotOf: 10 });
    const transferId = await l.lend(lender, borrower, [lot], { received: false });
    await w.receive.execute(borrower.viewer, {
      transferId,
      receivedOn: RECEIVED,
      items: [arrived(lot, { well: 8, dead: 2 })],
    });
    await w.client.quarantineEntry.deleteMany({ where: { animalId: lot } });
    const part = await w.uow.writeAsServer(null, async (tx) => {
      const split = await splitLot(tx, { lotId: lot, count: 3, on: RECEIVED, keeperId: borrower.keeperId });
      if (!split.ok) return split;
      const lost = await loseFromLot(tx, { lotId: lot, count: 4, on: TODAY, keeperId: borrower.keeperId });
      return lost.ok ? split : lost;
    });
    expect(await l.facts(transferId)).toMatchObject({
      out: [lot, part.id].sort(),
      deaths: [{ animalId: lot, on: TODAY, count: 4 }],
    });
    await goHome(lot);
    expect(await l.facts(transferId)).toMatchObject({
      out: [part.id],
      deaths: [{ animalId: lot, on: TODAY, count: 4 }],
    });
    await w.client.quarantineEntry.deleteMany({ where: { animalId: lot } });
    await w.uow.writeAsServer(null, (tx) =>
      loseFromLot(tx, { lotId: lot, count: 1, on: TODAY, keeperId: lender.keeperId }),
    );
    expect((await l.facts(transferId)).deaths).toEqual([{ animalId: lot, on: TODAY, count: 4 }]);
  });

  it('a death in the same millisecond as the acceptance was after it: nothing dies with the borrower before', async () => {
    const lot = await w.animal(lender, { lotOf: 5 });
    const transferId = await l.lend(lender, borrower, [lot], { counts: [5] });
    await w.uow.writeAsServer(null, (tx) =>
      loseFromLot(tx, { lotId: lot, count: 2, on: TODAY, keeperId: borrower.keeperId }),
    );
    const { recordedAt } = await w.client.lotChange.findFirstOrThrow({ where: { lotId: lot, cause: 'died' } });
    await w.client.transfer.update({ where: { id: transferId }, data: { acceptedAt: recordedAt } });
    expect((await l.facts(transferId)).deaths).toEqual([{ animalId: lot, on: TODAY, count: 2 }]);
  });
});

describe('reminders of loans', () => {
  const kinds = async (transferId: string) => {
    const rows = await w.client.notice.findMany({ where: { kind: { in: ['loan_due', 'loan_overdue'] } } });
    return rows
      .filter(({ body }) => (body as { transferId: string }).transferId === transferId)
      .map(({ kind, keeperId }) => [kind, keeperId === lender.keeperId ? 'lender' : 'borrower'].join(' '))
      .sort();
  };

  it('both sides are told once before the day and once when it was not returned; a new day is told of anew', async () => {
    const { animal, transferId } = await lent();
    await l.remind(day('2026-08-24'));
    expect(await kinds(transferId)).toEqual([]);
    for (const on of ['2026-08-25', '2026-08-26', '2026-09-01']) await l.remind(day(on));
    expect(await kinds(transferId)).toEqual(['loan_due borrower', 'loan_due lender']);
    for (const on of ['2026-09-02', '2026-09-03']) await l.remind(day(on));
    expect(await kinds(transferId)).toEqual([
      'loan_due borrower',
      'loan_due lender',
      'loan_overdue borrower',
      'loan_overdue lender',
    ]);
    await l.ask.execute(borrower.viewer, { transferId, dueBack: day('2026-09-20') });
    await l.answer.execute(lender.viewer, { extensionId: await l.openAsk(transferId), agree: true });
    await l.remind(day('2026-09-15'));
    expect(await kinds(transferId)).toHaveLength(6);
    expect(await l.mine(lender, ['overdue'], day('2026-09-21'))).toContain(transferId);
    await goHome(animal);
    await l.remind(day('2026-09-21'));
    expect(await kinds(transferId)).toHaveLength(6);
  });
});
