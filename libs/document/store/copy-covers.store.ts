import { v7 as uuid } from 'uuid';
import { type Tx } from '../../platform/prisma/index.js';

/**
 * Lets the documents in force that name a lot name what came out of it, or what it went into, as well. The paper covered those
 * animals, whatever record they stand in. In the transaction that parts or joins the lots; a name that is there already stays.
 */
export async function copyCovers(tx: Tx, fromAnimalId: string, toAnimalIds: readonly string[]): Promise<void> {
  const covers = await tx.db.documentCover.findMany({
    where: { animalId: { in: [fromAnimalId, ...toAnimalIds] }, document: { supersededAt: null } },
    select: { documentId: true, animalId: true },
    orderBy: { id: 'asc' },
  });
  const named = new Set(covers.map(({ documentId, animalId }) => `${documentId} ${animalId}`));
  await tx.db.documentCover.createMany({
    data: covers
      .filter(({ animalId }) => animalId === fromAnimalId)
      .flatMap(({ documentId }) =>
        toAnimalIds
          .filter((animalId) => !named.has(`${documentId} ${animalId}`))
          .map((animalId) => ({ id: uuid(), documentId, animalId })),
      ),
  });
}
