import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, notFound, refuse, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { lockOwnFile, markWithdrawn } from './animal-file.store.js';

export type WithdrawAnimalFileCommand = { readonly fileId: string; readonly reason: string };

const fileWithdrawn = defineLedgerAction(
  'animal.file-withdrawn',
  1,
  z.strictObject({ animalId: z.uuid(), fileId: z.uuid(), keeperId: z.uuid() }),
);
const outcome = z.object({ animalId: z.uuid() });

/** Hides a file an own keeper sent from everybody else. The keeper keeps it: it stays their evidence. */
@Injectable()
export class WithdrawAnimalFile {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, FILE_WITHDRAWN. */
  async execute(viewer: Viewer, command: WithdrawAnimalFileCommand): Promise<z.infer<typeof outcome>> {
    return this.uow.write(viewer, { action: 'animal.withdraw-file', input: command, outcome }, async (tx) => {
      const file = await lockOwnFile(tx, viewer, command.fileId);
      if (file === null) throw notFound('file');
      if (file.withdrawn) return refuse('FILE_WITHDRAWN', 'This file was withdrawn before.');
      await markWithdrawn(tx, command.fileId, command.reason);
      await tx.ledger.append(fileWithdrawn, {
        subjects: [file.animalId],
        body: { animalId: file.animalId, fileId: command.fileId, keeperId: file.keeperId },
        personal: { reason: command.reason },
      });
      return decide({ animalId: file.animalId });
    });
  }
}
