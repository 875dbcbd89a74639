import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { AUDIENCES } from '../../access/index.js';
import { lockAnimals, requireAuthorities } from '../../animal/index.js';
import { decide, refuse, type Viewer } from '../../kernel/index.js';
import { idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import {
  findOwnAccess,
  lockSharing,
  requireCollection,
  requireOwner,
  setAnimalChoice,
  setCollectionChoice,
} from '../store/sharing-write.store.js';

const choice = { holdingsShown: z.enum(AUDIENCES).nullable(), lineageWithheld: z.boolean() };
export const setCollectionSharingCommand = z.object({ collectionId: idInput, ...choice });
export const setAnimalSharingCommand = z.object({
  animalIds: z
    .array(idInput)
    .min(1, 'No animal is named. | Name at least one.')
    .max(100, 'These are too many at once. | Set at most 100 at once.'),
  ...choice,
});

const collectionSet = defineLedgerAction(
  'sharing.collection-set',
  1,
  z.strictObject({ collectionId: z.uuid(), keeperId: z.uuid(), ...choice }),
);
const animalsSet = defineLedgerAction(
  'sharing.animals-set',
  1,
  z.strictObject({ keeperId: z.uuid(), animalIds: z.array(z.uuid()), ...choice }),
);

/** An owner of the keeper decides what others see of a part of what it has. It holds at once. */
@Injectable()
export class SetPartSharing {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND for a collection of others, FORBIDDEN for a helper. */
  async ofCollection(
    viewer: Viewer,
    command: z.infer<typeof setCollectionSharingCommand>,
  ): Promise<{ collectionId: string }> {
    const outcome = z.object({ collectionId: z.uuid() });
    const request = { action: 'custody.set-collection-sharing', input: command, outcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { holdingsShown, lineageWithheld } = command;
      const collection = await requireCollection(tx, viewer, command.collectionId);
      await lockSharing(tx, collection.keeperId);
      await setCollectionChoice(tx, collection, { holdings: holdingsShown, lineageWithheld });
      await tx.ledger.append(collectionSet, {
        subjects: [collection.id, collection.keeperId],
        body: { collectionId: collection.id, keeperId: collection.keeperId, holdingsShown, lineageWithheld },
      });
      return decide({ collectionId: collection.id });
    });
  }

  /**
   * NOT_FOUND, FORBIDDEN for all but an owner of the keeper who has or owns the animals, SHARING_OF_SEVERAL where that is not
   * one keeper, RECORD_MERGED.
   */
  async ofAnimals(viewer: Viewer, command: z.infer<typeof setAnimalSharingCommand>): Promise<{ animalIds: string[] }> {
    const outcome = z.object({ animalIds: z.array(z.uuid()) });
    const request = { action: 'custody.set-animal-sharing', input: command, outcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { holdingsShown, lineageWithheld } = command;
      const animalIds = [...new Set(command.animalIds)];
      await lockAnimals(tx, animalIds);
      const authorities = [...(await requireAuthorities(tx, viewer, animalIds))];
      const [keeperId, ...others] = new Set(authorities.map(([, { keeperId }]) => keeperId));
      if (keeperId === undefined) throw new Error('No animal is named.');
      if (others.length > 0)
        return refuse('SHARING_OF_SEVERAL', 'The animals are not all with one keeper, or owned by one.', {
          blockers: authorities.flatMap(([id, authority]) =>
            authority.keeperId === keeperId
              ? []
              : [{ kind: 'animal', id, remedy: 'Set it for those of each keeper by itself.' }],
          ),
        });
      requireOwner(viewer, keeperId, 'keeper');
      await lockSharing(tx, keeperId);
      const relations = await findOwnAccess(tx, keeperId, animalIds);
      await setAnimalChoice(tx, keeperId, relations, { holdings: holdingsShown, lineageWithheld });
      await tx.ledger.append(animalsSet, {
        subjects: [...animalIds, keeperId],
        body: { keeperId, animalIds, holdingsShown, lineageWithheld },
      });
      return decide({ animalIds });
    });
  }
}
