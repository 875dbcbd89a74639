import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { findOwner, lockAnimals, type LotLoss, requireAuthority } from '../../animal/index.js';
import { type Day, decide, refuse, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { changeLot } from '../store/lot-change.store.js';
import { loseFromLot } from '../store/stock-write.store.js';
import { lotFound, lotLost, lotRecounted } from './lot-ledger.js';

/** What happened to some of a lot. */
export type ChangeLotCommand = { readonly lotId: string; readonly count: number; readonly on: Day | null } & (
  | { readonly kind: 'lost'; readonly cause: LotLoss }
  | { readonly kind: 'found' }
  | { readonly kind: 'recount'; readonly estimated: boolean; readonly reason: string }
);

/** Some of a lot are lost or back, or the lot was counted anew. What a recount changes stays unexplained in the stock book. */
@Injectable()
export class ChangeLot {
  constructor(private readonly uow: UnitOfWork) {}

  /**
   * NOT_FOUND, FORBIDDEN unless the viewer's keeper has the lot, THEFT_BY_OWNER_ONLY, and what `changeLot` and `loseFromLot`
   * refuse.
   */
  async execute(viewer: Viewer, command: ChangeLotCommand): Promise<{ lotId: string }> {
    const request = { action: 'animal.change-lot', input: command, outcome: z.object({ lotId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      const { lotId, count } = command;
      await lockAnimals(tx, [lotId]);
      const { keeperId } = await requireAuthority(tx, viewer, lotId, true);
      const on = command.on ?? tx.today;
      const at = { lotId, on, keeperId };
      switch (command.kind) {
        case 'lost': {
          const { cause } = command;
          if (cause === 'stolen' && (await findOwner(tx, viewer, lotId)) === null)
            return refuse('THEFT_BY_OWNER_ONLY', 'Only an owner reports a theft. Record them as missing.');
          const lost =
            cause === 'died'
              ? await loseFromLot(tx, { ...at, count })
              : await changeLot(tx, at, { kind: 'gone', cause, count });
          if (!lost.ok) return lost;
          await tx.ledger.append(lotLost, { subjects: [lotId], body: { ...at, count, cause } });
          break;
        }
        case 'found': {
          const found = await changeLot(tx, at, { kind: 'found', count });
          if (!found.ok) return found;
          await tx.ledger.append(lotFound, { subjects: [lotId], body: { ...at, count } });
          break;
        }
        case 'recount': {
          const { estimated, reason } = command;
          const counted = await changeLot(tx, at, { kind: 'recount', count, estimated, reason });
          if (!counted.ok) return counted;
          await tx.ledger.append(lotRecounted, {
            subjects: [lotId],
            body: { ...at, delta: counted.value.delta, count, estimated },
            personal: { reason },
          });
          break;
        }
      }
      return decide({ lotId });
    });
  }
}
