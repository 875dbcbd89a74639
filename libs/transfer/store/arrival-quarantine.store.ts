import { type Day, dayOf } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type ReceivedItem } from '../core/arrival-quarantine.core.js';

/** What `keeperId` received by a transfer, or null when it is not received, or not by this keeper (also not through an outside party taken up). */
export async function findReceived(
  tx: Tx,
  transferId: string,
  keeperId: string,
): Promise<{ receivedOn: Day; items: ReceivedItem[] } | null> {
  const transfer = await tx.db.transfer.findFirst({
    where: {
      id: transferId,
      state: 'received',
      OR: [{ toKeeperId: keeperId }, { toOutsideParty: { takenUpByKeeper: keeperId } }],
    },
    select: {
      receivedOn: true,
      items: {
        select: {
          arrivals: { select: { state: true, count: true } },
          animal: {
            select: {
              registerNumber: true,
              taxon: { select: { scientificName: true, quarantineDays: true, quarantineSource: true } },
            },
          },
        },
      },
    },
  });
  if (transfer === null || transfer.receivedOn === null) return null;
  return {
    receivedOn: dayOf(transfer.receivedOn),
    items: transfer.items.map(({ arrivals, animal }) => ({
      registerNumber: animal.registerNumber,
      ...animal.taxon,
      arrivals,
    })),
  };
}
