import { type Day, day, decide } from '../../libs/kernel/index.js';
import { NoticeStore } from '../../libs/membership/index.js';
import { type Database } from '../../libs/platform/prisma/index.js';
import { RemindLoansHandler } from '../../libs/transfer/index.js';
import { AnswerLoanExtension } from '../../libs/transfer/loans/answer-loan-extension.js';
import { AskLoanExtension } from '../../libs/transfer/loans/ask-loan-extension.js';
import { type LoanTerms } from '../../libs/transfer/loans/loan-terms.core.js';
import { findLoanFacts, findLoanPage } from '../../libs/transfer/loans/loan.store.js';
import { type LoanState } from '../../libs/transfer/loans/loan-day.core.js';
import { RecallLoan } from '../../libs/transfer/loans/recall-loan.js';
import { WithdrawLoanExtension } from '../../libs/transfer/loans/withdraw-loan-extension.js';
import { endQuarantine } from './end-quarantine.js';
import { RECEIVED, SENT } from './title-world.js';
import { arrived, gift, type Party, TODAY, type TransferWorld } from './transfer-world.js';

export const DUE = day('2026-09-01');

/** Terms of which nothing is agreed but a recall of fourteen days. */
export const TERMS: LoanTerms = {
  recallDays: 14,
  keepCosts: 'borrower',
  vetCosts: null,
  onDeath: null,
  value: null,
  youngSplit: null,
  youngBredBy: null,
};

/** The acts about loans over a transfer world, and whole loans and returns in one call. */
export function loanWorld(w: TransferWorld) {
  const { uow, store, client } = w;
  const facts = async (transferId: string) => {
    const found = (await findLoanFacts(client, [transferId])).get(transferId);
    if (found === undefined) throw new Error('No facts of the loan.');
    return found;
  };
  return {
    ask: new AskLoanExtension(uow, store),
    answer: new AnswerLoanExtension(uow, store),
    withdraw: new WithdrawLoanExtension(uow, store),
    recall: new RecallLoan(uow, store),
    facts,

    /** A loan of animals, received unless told otherwise. Gives its transfer. */
    async lend(
      from: Party,
      to: Party,
      animalIds: readonly string[],
      options: { terms?: LoanTerms | null; dueBack?: Day; received?: boolean; counts?: readonly number[] } = {},
    ): Promise<string> {
      const { terms = TERMS, dueBack = DUE, received = true, counts = [] } = options;
      const loan = { kind: 'breeding_loan' as const, dueBack, loanTerms: terms };
      const { transferId } = await w.offer.execute(from.viewer, { ...gift(from, to, ...animalIds), ...loan });
      await w.accept.execute(to.viewer, { transferId });
      await w.send.execute(from.viewer, { transferId, sentOn: SENT });
      if (!received) return transferId;
      const items = animalIds.map((id, i) => arrived(id, { well: counts[i] ?? 1 }));
      await w.receive.execute(to.viewer, { transferId, receivedOn: RECEIVED, items });
      for (const id of animalIds) await endQuarantine(client, id, RECEIVED);
      return transferId;
    },

    /** The borrower sends an animal home. Gives the receipt that the owner has still to write. */
    async sendHome(from: Party, to: Party, animalId: string) {
      const { transferId } = await w.offer.execute(from.viewer, {
        ...gift(from, to, animalId),
        kind: 'loan_return' as const,
      });
      await w.accept.execute(to.viewer, { transferId });
      await w.send.execute(from.viewer, { transferId, sentOn: day('2026-06-05') });
      return { transferId, receivedOn: TODAY, items: [arrived(animalId, { well: 1 })] };
    },

    /** The ask that waits. */
    async openAsk(transferId: string): Promise<string> {
      const ask = (await facts(transferId)).days.find(({ outcome }) => outcome === null);
      if (ask === undefined) throw new Error('Nothing is asked for.');
      return ask.id;
    },

    async dueBack(transferId: string): Promise<string | undefined> {
      const row = await client.transfer.findUniqueOrThrow({ where: { id: transferId } });
      return row.dueBack?.toISOString().slice(0, 10);
    },

    /** Ids of the loans of a party in these states. */
    async mine(who: Party, states: LoanState[] | null, today: Day = TODAY): Promise<string[]> {
      const query = { keeperId: who.keeperId, states, today, first: 50, after: null };
      return (await findLoanPage(client, who.viewer, query)).map(({ transfer }) => transfer.id);
    },

    /** Runs the job of a day. */
    async remind(on: Day): Promise<void> {
      const handler = new RemindLoansHandler(new NoticeStore({ client } as Database));
      await uow.writeAsServer(null, async (tx) => decide(await handler.handle(tx, { day: on, after: null })));
    },
  };
}
