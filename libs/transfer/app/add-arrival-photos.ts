import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, forbidden, notFound, refuse, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { sidesOf } from '../core/policy.core.js';
import { TransferStore } from '../store/transfer.store.js';
import { stepCommand, type StepOutcome, stepOutcome } from './step-command.js';
import { arrivalPhotosAdded, subjectsOf } from './transfer-ledger.js';

/** Most pictures of one arrival; others are kept with the animal. */
const MAX_PHOTOS = 10;

/** An item that arrived, and pictures of it. */
export const addArrivalPhotosCommand = stepCommand.extend({
  animalId: z.uuid('This is not the id of an animal. | Use the id of an item that arrived.'),
  fileIds: z
    .array(z.uuid('This is not the id of a file. | Use the ids of files you sent for this animal.'))
    .min(1, 'No file is named. | Send a picture of the animal first, then name it.')
    .max(MAX_PHOTOS, `An arrival shows at most ${MAX_PHOTOS} pictures. | Keep the others with the animal.`),
});

/** The receiver adds pictures of how an animal arrived, for both parties: files the receiver sent for it. */
@Injectable()
export class AddArrivalPhotos {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND for a transfer, an item that has not arrived and a file of somebody else, FORBIDDEN for the giver, RULE_REFUSED TRANSFER_TOO_MANY_PHOTOS. */
  async execute(viewer: Viewer, command: z.infer<typeof addArrivalPhotosCommand>): Promise<StepOutcome> {
    const request = { action: 'transfer.add-arrival-photos', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const transfer = await this.transfers.lock(tx, viewer, command.transferId, command.expectedVersion);
      const { receiver } = transfer;
      if (receiver.kind !== 'keeper' || !sidesOf(viewer, transfer).includes('receiver')) {
        throw forbidden('Only the receiver can add pictures of an arrival.');
      }
      const item = transfer.items.find(
        ({ animalId, arrivals }) => animalId === command.animalId && arrivals.length > 0,
      );
      if (item === undefined) throw notFound('item');
      const fileIds = [...new Set(command.fileIds)];
      const own = await this.transfers.findOwnFiles(tx, receiver.keeperId, item.animalId, fileIds);
      if (own.length < fileIds.length) throw notFound('file');
      if (new Set([...item.photoFileIds, ...fileIds]).size > MAX_PHOTOS) {
        return refuse('TRANSFER_TOO_MANY_PHOTOS', `An arrival shows at most ${MAX_PHOTOS} pictures. Add fewer.`);
      }
      await this.transfers.save(tx, transfer.version, transfer);
      await this.transfers.insertPhotos(tx, item.id, fileIds);
      const body = { transferId: transfer.id, animalId: item.animalId, fileIds };
      await tx.ledger.append(arrivalPhotosAdded, { subjects: subjectsOf(transfer), body });
      return decide({ transferId: transfer.id });
    });
  }
}
