import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { lockAnimals } from '../../animal/index.js';
import { setOwners } from '../../custody/index.js';
import { decide, forbidden, notFound, owns, roleFor, type Viewer } from '../../kernel/index.js';
import { mayTakePart, standingOfOne } from '../../membership/index.js';
import { idInput } from '../../platform/input/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { tellTransfer } from '../jobs/tell-transfer.job.js';
import { TransferStore } from '../store/transfer.store.js';
import { readClutchSplit, turnOf } from './follow-young.js';
import { LOAN_SIDES } from '../loans/loan-terms.core.js';
import { decidePick } from './pick.core.js';
import { findLoanOfClutch, lockDividedLoan, readYoungNamed, savePicks } from './split.store.js';
import { youngPicked } from './split-ledger.js';

/** Most picks of one act; a side that has all the young of a clutch has as many turns in a row. */
const MAX_PICKS = 100;

/** Which of the young of a clutch of a loan the side whose turn it is picks, in this order. */
export const pickYoungCommand = z.object({
  transferId: z.uuid('This is not the id of a transfer. | Use the id of the loan.'),
  clutchId: idInput,
  animalIds: z
    .array(idInput)
    .min(1, 'Nothing is picked. | Name at least one of the young.')
    .max(MAX_PICKS, `These are too many. | Pick at most ${MAX_PICKS} at once.`)
    .refine((ids) => new Set(ids).size === ids.length, 'An animal is named twice. | Name each once.'),
});

const outcome = z.object({ transferId: z.uuid(), clutchId: z.uuid() });

/** The side whose turn it is picks young of a clutch of a loan: they are its property from today, wherever they are. */
@Injectable()
export class PickYoung {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** NOT_FOUND; FORBIDDEN but for an owner of a side; RULE_REFUSED GUARDIAN_AWAITED, GUARDIAN_SPEAKS and what `decidePick` refuses. */
  async execute(viewer: Viewer, command: z.infer<typeof pickYoungCommand>): Promise<z.infer<typeof outcome>> {
    const { transferId, clutchId, animalIds } = command;
    const request = { action: 'transfer.pick-young', input: command, outcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { id } = await this.transfers.lock(tx, viewer, transferId);
      if ((await findLoanOfClutch(tx, clutchId)) !== id) throw notFound('clutch');
      if ((await readYoungNamed(tx, clutchId, animalIds)).length < animalIds.length) throw notFound('animal');
      await lockAnimals(tx, animalIds);
      const loan = await lockDividedLoan(tx, id);
      const clutch = loan === null ? undefined : await readClutchSplit(tx, loan, clutchId);
      if (loan === null || clutch === undefined) throw notFound('clutch');
      const sides = LOAN_SIDES.filter((side) => owns(viewer, loan[side]));
      if (sides.length === 0) throw forbidden('Only an owner of the lender or of the borrower picks.');
      const young = await readYoungNamed(tx, clutchId, animalIds);
      const decision = decidePick(clutch, sides, young);
      if (!decision.ok) return decision;
      const { side, picks } = decision.value;
      const keeperId = loan[side];
      const possible = mayTakePart('loan', await standingOfOne(tx, keeperId), roleFor(viewer, keeperId));
      if (!possible.ok) return possible;
      await savePicks(tx, side, picks);
      for (const { animalId } of picks) {
        const shares = [{ owner: { kind: 'keeper' as const, keeperId }, parts: 1 }];
        const moved = await setOwners(tx, { animalId, from: tx.today, shares });
        if (!moved.ok) return moved;
      }
      const next = await turnOf(tx, loan, clutchId);
      if (next !== null && next !== keeperId)
        await tx.outbox.send(tellTransfer, { transferId: id, keeperId: next, what: 'pick_due' });
      await tx.ledger.append(youngPicked, {
        subjects: [id, clutchId, ...animalIds],
        body: { transferId: id, clutchId, side, keeperId, on: tx.today, picks: [...picks] },
      });
      return decide({ transferId: id, clutchId });
    });
  }
}
