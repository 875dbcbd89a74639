import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { lockAnimals, requestOriginRecheck, requireAuthority } from '../../animal/index.js';
import { type Day, decide, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { joinLots } from '../store/lot-change.store.js';
import { lotsJoined } from './lot-ledger.js';

export type JoinLotsCommand = { readonly fromLotId: string; readonly intoLotId: string; readonly on: Day | null };

const outcome = z.object({
  intoLotId: z.uuid(),
  unknown: z.array(z.enum(['birth', 'origin', 'sire', 'dam'])),
});

/** Puts all of one lot into another of the same keeper, taxon, line and owners. */
@Injectable()
export class JoinLots {
  constructor(private readonly uow: UnitOfWork) {}

  /** Gives what became unknown by it. NOT_FOUND, FORBIDDEN unless the viewer's keeper has both, and what `joinLots` refuses. */
  async execute(viewer: Viewer, command: JoinLotsCommand): Promise<z.infer<typeof outcome>> {
    return this.uow.write(viewer, { action: 'animal.join-lots', input: command, outcome }, async (tx) => {
      const { fromLotId, intoLotId } = command;
      await lockAnimals(tx, [fromLotId, intoLotId]);
      const { keeperId } = await requireAuthority(tx, viewer, fromLotId, true);
      await requireAuthority(tx, viewer, intoLotId, true);
      const on = command.on ?? tx.today;
      const joined = await joinLots(tx, { fromId: fromLotId, intoId: intoLotId, on, keeperId });
      if (!joined.ok) return joined;
      const { count, unknown } = joined.value;
      await tx.ledger.append(lotsJoined, {
        subjects: [fromLotId, intoLotId],
        body: { lotId: intoLotId, fromLotId, keeperId, on, count, unknown },
      });
      await requestOriginRecheck(tx, [intoLotId]);
      return decide({ intoLotId, unknown });
    });
  }
}
