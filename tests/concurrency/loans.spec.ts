import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { day } from '../../libs/kernel/index.js';
import { DUE, loanWorld } from '../support/loan-world.js';
import { meet } from '../support/meeting.js';
import { holdRow, type Party, transferWorld, type TransferWorld } from '../support/transfer-world.js';

let w: TransferWorld;
let l: ReturnType<typeof loanWorld>;
let lender: Party;
let borrower: Party;
beforeAll(async () => {
  w = await transferWorld();
  l = loanWorld(w);
  [lender, borrower] = [await w.party('Lender'), await w.party('Borrower')];
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

async function lent(): Promise<{ animal: string; transferId: string }> {
  const animal = await w.animal(lender);
  return { animal, transferId: await l.lend(lender, borrower, [animal]) };
}

/** What became of every ask and recall, in their order. */
async function ends(transferId: string): Promise<(string | null)[]> {
  return (await l.facts(transferId)).days.map(({ outcome }) => outcome);
}

const [LATER, SOONER] = [day('2026-10-01'), day('2026-06-30')];

describe('two writers about one loan, held at one barrier and let go together', () => {
  it('both sides ask: one ask waits', async () => {
    const { transferId } = await lent();
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(
      l.ask.execute(borrower.viewer, { transferId, dueBack: LATER }),
      l.ask.execute(lender.viewer, { transferId, dueBack: SOONER }),
    );
    await barrier.releaseWhenWaiting(2);
    expect((await both).sort()).toEqual(['LOAN_DAY_ASKED', 'done']);
    expect(await ends(transferId)).toEqual([null]);
  });

  it('agreed to and withdrawn: one of them, and the day says which', async () => {
    const { transferId } = await lent();
    await l.ask.execute(borrower.viewer, { transferId, dueBack: LATER });
    const extensionId = await l.openAsk(transferId);
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(
      l.answer.execute(lender.viewer, { extensionId, agree: true }),
      l.withdraw.execute(borrower.viewer, { extensionId }),
    );
    await barrier.releaseWhenWaiting(2);
    const [agreed, withdrawn] = await both;
    expect([agreed, withdrawn].sort()).toEqual(['LOAN_DAY_ANSWERED', 'done']);
    expect(await l.dueBack(transferId)).toBe(agreed === 'done' ? LATER : DUE);
    expect(await ends(transferId)).toEqual([agreed === 'done' ? 'agreed' : 'withdrawn']);
  });

  it('agreed to and called back: the recall has the last word or the ask is gone, never both days', async () => {
    const { transferId } = await lent();
    await l.ask.execute(borrower.viewer, { transferId, dueBack: LATER });
    const extensionId = await l.openAsk(transferId);
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(
      l.answer.execute(lender.viewer, { extensionId, agree: true }),
      l.recall.execute({ ...lender.viewer, requestId: uuid() }, { transferId, dueBack: SOONER }),
    );
    await barrier.releaseWhenWaiting(2);
    const [agreed, recalled] = await both;
    expect(recalled).toBe('done');
    expect(['done', 'LOAN_DAY_ANSWERED']).toContain(agreed);
    expect(await l.dueBack(transferId)).toBe(SOONER);
    expect(await ends(transferId)).toEqual([agreed === 'done' ? 'agreed' : 'ended_by_recall', 'recalled']);
  });

  it('called back while the lender receives the return: what is home is not called back', async () => {
    const { animal, transferId } = await lent();
    const receipt = await l.sendHome(borrower, lender, animal);
    const barrier = await holdRow(w.url, 'animal', animal);
    const both = outcomes(
      l.recall.execute(lender.viewer, { transferId, dueBack: SOONER }),
      w.receive.execute({ ...lender.viewer, requestId: uuid() }, receipt),
    );
    await barrier.releaseWhenWaiting(2);
    const [recalled, received] = await both;
    expect(received).toBe('done');
    expect(['done', 'LOAN_OVER']).toContain(recalled);
    expect(await l.dueBack(transferId)).toBe(recalled === 'done' ? SOONER : DUE);
    const entries = (
      await w.client.ledgerEntry.findMany({ where: { subjects: { has: animal } }, orderBy: { id: 'asc' } })
    )
      .map(({ action }) => action)
      .filter((action) => action === 'transfer.loan-recalled' || action === 'transfer.received');
    // A recall that happened came first: never after the receipt.
    expect(entries.at(-1)).toBe('transfer.received');
  });

  it.each(['agreed', 'received'] as const)('agreed to while the last of it comes home, %s first', async (first) => {
    const { animal, transferId } = await lent();
    await l.ask.execute(borrower.viewer, { transferId, dueBack: LATER });
    const extensionId = await l.openAsk(transferId);
    const receipt = await l.sendHome(borrower, lender, animal);
    const acts = {
      agreed: () => outcomes(l.answer.execute(lender.viewer, { extensionId, agree: true })),
      received: () => outcomes(w.receive.execute({ ...lender.viewer, requestId: uuid() }, receipt)),
    };
    const second = first === 'agreed' ? 'received' : 'agreed';
    const told = await meet(w.url, { table: 'animal', id: animal }, acts[first], acts[second]);
    const [agreed, received] = first === 'agreed' ? told : told.toReversed();
    expect(received).toEqual(['done']);
    expect(agreed).toEqual([first === 'agreed' ? 'done' : 'LOAN_OVER']);
    expect(await l.dueBack(transferId)).toBe(first === 'agreed' ? LATER : DUE);
    expect(await ends(transferId)).toEqual([first === 'agreed' ? 'agreed' : null]);
    expect(await l.mine(lender, ['over'])).toContain(transferId);
  });

  it('one ask sent twice with the same Idempotency-Key: one ask', async () => {
    const { transferId } = await lent();
    const viewer = { ...borrower.viewer, idempotencyKey: uuid() };
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const command = { transferId, dueBack: LATER };
    const both = outcomes(l.ask.execute(viewer, command), l.ask.execute(viewer, command));
    await barrier.releaseWhenWaiting(2);
    expect(await both).toEqual(['done', 'done']);
    expect(await ends(transferId)).toEqual([null]);
  });
});
