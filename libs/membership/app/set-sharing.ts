import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { actsFor, decide, forbidden, notFound, owns, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { AccountStore } from '../store/account.store.js';
import { idInput } from '../../platform/input/index.js';

const sharing = {
  keeperId: z.uuid(),
  holdingsShown: z.enum(['nobody', 'other_party', 'coordinator', 'club']),
  lineageShared: z.boolean(),
};

/** Who learns what a keeper holds, and whether lineage is shown in its clubs. */
export const setSharingCommand = z.object({
  ...sharing,
  keeperId: idInput,
});
export type SetSharingCommand = z.infer<typeof setSharingCommand>;

const sharingSet = defineLedgerAction('keeper.sharing-set', 1, z.strictObject(sharing));

/** An owner decides for the keeper what others see. It holds at once, for the past as well. */
@Injectable()
export class SetSharing {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly accounts: AccountStore,
  ) {}

  /** NOT_FOUND for a keeper the viewer does not act for, FORBIDDEN for a helper. */
  async execute(viewer: Viewer, command: SetSharingCommand): Promise<{ keeperId: string }> {
    const { keeperId, holdingsShown, lineageShared } = command;
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    if (!owns(viewer, keeperId)) throw forbidden('Only an owner of the keeper decides what others see.');
    const request = { action: 'membership.set-sharing', input: command, outcome: z.object({ keeperId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      await this.accounts.setSharing(tx, keeperId, { holdingsShown, lineageShared });
      await tx.ledger.append(sharingSet, { subjects: [keeperId], body: { keeperId, holdingsShown, lineageShared } });
      return decide({ keeperId });
    });
  }
}
