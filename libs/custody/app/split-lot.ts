import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { lockAnimals, requireAuthority } from '../../animal/index.js';
import { type Day, decide, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { splitLot } from '../store/stock-write.store.js';

export type SplitLotCommand = { readonly lotId: string; readonly count: number; readonly on: Day | null };

const lotSplit = defineLedgerAction(
  'lot.split',
  1,
  z.strictObject({ lotId: z.uuid(), newLotId: z.uuid(), keeperId: z.uuid(), count: z.int(), on: z.string() }),
);

/** Takes some animals out of a lot into a record of their own. */
@Injectable()
export class SplitLot {
  constructor(private readonly uow: UnitOfWork) {}

  /** Gives the new lot's id. NOT_FOUND, FORBIDDEN unless the viewer's keeper has the lot, and what `splitLot` refuses. */
  async execute(viewer: Viewer, command: SplitLotCommand): Promise<{ newLotId: string }> {
    const request = { action: 'animal.split-lot', input: command, outcome: z.object({ newLotId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      await lockAnimals(tx, [command.lotId]);
      const { keeperId } = await requireAuthority(tx, viewer, command.lotId, true);
      const on = command.on ?? tx.today;
      const split = await splitLot(tx, { lotId: command.lotId, count: command.count, on, keeperId });
      if (!split.ok) return split;
      const newLotId = split.value.id;
      await tx.ledger.append(lotSplit, {
        subjects: [command.lotId, newLotId],
        body: { lotId: command.lotId, newLotId, keeperId, count: command.count, on },
      });
      return decide({ newLotId });
    });
  }
}
