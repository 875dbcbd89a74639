import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { lockAnimals, requireAuthorities } from '../../animal/index.js';
import { decide, refuse, type Viewer } from '../../kernel/index.js';
import { idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import {
  findOwnAccess,
  insertCollection,
  lockSharing,
  moveStays,
  renameCollection,
  requireCollection,
  requireOwner,
} from '../store/sharing-write.store.js';

const name = z
  .string()
  .trim()
  .min(1, 'A name has at least one character. | Write how you call it.')
  .max(100, 'This name is too long. | Use at most 100 characters.');
export const openCollectionCommand = z.object({ keeperId: idInput, name });
export const renameCollectionCommand = z.object({ collectionId: idInput, name });
export const moveToCollectionCommand = z.object({
  animalIds: z
    .array(idInput)
    .min(1, 'No animal is named. | Name at least one.')
    .max(500, 'These are too many at once. | Move at most 500 at once.'),
  collectionId: idInput.nullable(),
});

const collectionBody = z.strictObject({ collectionId: z.uuid(), keeperId: z.uuid() });
const collectionOpened = defineLedgerAction('collection.opened', 1, collectionBody);
const collectionRenamed = defineLedgerAction('collection.renamed', 1, collectionBody);
const animalsMoved = defineLedgerAction(
  'collection.animals-moved',
  1,
  z.strictObject({ collectionId: z.uuid().nullable(), keeperId: z.uuid(), animalIds: z.array(z.uuid()) }),
);
const outcome = z.object({ collectionId: z.uuid() });

/** Named parts of what a keeper has. An owner decides, because what others see can follow from the collection. */
@Injectable()
export class ManageCollections {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND for a keeper the viewer does not act for, FORBIDDEN for a helper, COLLECTION_NAME_TAKEN. */
  async open(viewer: Viewer, command: z.infer<typeof openCollectionCommand>): Promise<{ collectionId: string }> {
    requireOwner(viewer, command.keeperId, 'keeper');
    return this.uow.write(viewer, { action: 'custody.open-collection', input: command, outcome }, async (tx) => {
      const { keeperId } = command;
      const collectionId = await insertCollection(tx, command);
      await tx.ledger.append(collectionOpened, {
        subjects: [collectionId, keeperId],
        body: { collectionId, keeperId },
        personal: { name: command.name },
      });
      return decide({ collectionId });
    });
  }

  /** The same errors, NOT_FOUND for a collection of others. */
  async rename(viewer: Viewer, command: z.infer<typeof renameCollectionCommand>): Promise<{ collectionId: string }> {
    return this.uow.write(viewer, { action: 'custody.rename-collection', input: command, outcome }, async (tx) => {
      const { id, keeperId } = await requireCollection(tx, viewer, command.collectionId);
      await renameCollection(tx, id, command.name);
      await tx.ledger.append(collectionRenamed, {
        subjects: [id, keeperId],
        body: { collectionId: id, keeperId },
        personal: { name: command.name },
      });
      return decide({ collectionId: id });
    });
  }

  /**
   * Puts animals into a collection of the keeper who has them, or (null) into none. NOT_FOUND, FORBIDDEN for all but an owner of
   * that keeper, COLLECTION_OF_ANOTHER where the collection or one of the animals is not that keeper's, RECORD_MERGED.
   */
  async move(viewer: Viewer, command: z.infer<typeof moveToCollectionCommand>): Promise<{ animalIds: string[] }> {
    const request = {
      action: 'custody.move-to-collection',
      input: command,
      outcome: z.object({ animalIds: z.array(z.uuid()) }),
    };
    return this.uow.write(viewer, request, async (tx) => {
      const animalIds = [...new Set(command.animalIds)];
      await lockAnimals(tx, animalIds);
      const collection =
        command.collectionId === null ? null : await requireCollection(tx, viewer, command.collectionId);
      const holders = await requireAuthorities(tx, viewer, animalIds, true);
      const keepers = [...holders].map(([id, holder]) => [id, holder.keeperId] as const);
      const [keeperId] = collection === null ? keepers.map(([, holder]) => holder) : [collection.keeperId];
      if (keeperId === undefined) throw new Error('No animal is named.');
      const astray = keepers.filter(([, holder]) => holder !== keeperId);
      if (astray.length > 0)
        return refuse('COLLECTION_OF_ANOTHER', 'A collection takes animals that its own keeper has.', {
          blockers: astray.map(([id]) => ({ kind: 'animal', id, remedy: 'Move it with those of its own keeper.' })),
        });
      requireOwner(viewer, keeperId, 'keeper');
      await lockSharing(tx, keeperId);
      const stays = (await findOwnAccess(tx, keeperId, animalIds)).filter(({ relation }) => relation === 'holder');
      await moveStays(
        tx,
        stays.map(({ id }) => id),
        collection?.id ?? null,
      );
      await tx.ledger.append(animalsMoved, {
        subjects: [...animalIds, keeperId, ...(collection === null ? [] : [collection.id])],
        body: { collectionId: collection?.id ?? null, keeperId, animalIds },
      });
      return decide({ animalIds });
    });
  }
}
