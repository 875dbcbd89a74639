import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, notFound, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { type Enclosure } from '../store/housing-read.store.js';
import { findOwnEnclosure, lockEnclosure, updateEnclosure } from '../store/housing-write.store.js';

export type UpdateEnclosureCommand = {
  readonly enclosureId: string;
  /** Undefined = as it was. */
  readonly name: string | undefined;
  readonly setting: Enclosure['setting'] | undefined;
  readonly room?: string | null | undefined;
};

const enclosureUpdated = defineLedgerAction(
  'housing.enclosure-updated',
  1,
  z.strictObject({ enclosureId: z.uuid(), setting: z.enum(['indoor', 'outdoor', 'unknown']).optional() }),
);

/** Changes the words for an own enclosure: name, room, indoors or outdoors. */
@Injectable()
export class UpdateEnclosure {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND. */
  async execute(viewer: Viewer, command: UpdateEnclosureCommand): Promise<{ enclosureId: string }> {
    const request = {
      action: 'housing.update-enclosure',
      input: command,
      outcome: z.object({ enclosureId: z.uuid() }),
    };
    return this.uow.write(viewer, request, async (tx) => {
      const { enclosureId, name, setting, room } = command;
      await lockEnclosure(tx, enclosureId);
      const keepers = viewer.keepers.map((keeper) => keeper.keeperId);
      if ((await findOwnEnclosure(tx, keepers, enclosureId)) === null) throw notFound('enclosure');
      await updateEnclosure(tx, enclosureId, {
        ...(name === undefined ? {} : { name }),
        ...(setting === undefined ? {} : { setting }),
        ...(room === undefined ? {} : { room }),
      });
      await tx.ledger.append(enclosureUpdated, {
        subjects: [enclosureId],
        body: { enclosureId, ...(setting === undefined ? {} : { setting }) },
        personal: {
          ...(name === undefined ? {} : { name }),
          ...(room === undefined || room === null ? {} : { room }),
        },
      });
      return decide({ enclosureId });
    });
  }
}
