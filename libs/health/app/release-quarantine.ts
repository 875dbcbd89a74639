import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { decide, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { releaseQuarantine } from '../core/quarantine-rules.core.js';
import { closeQuarantine, lockQuarantines } from '../store/quarantine-write.store.js';
import { findOwnQuarantine } from './own-quarantine.js';
import { quarantineOutcome, type QuarantineOutcome, type releaseQuarantineCommand } from './quarantine-commands.js';
import { quarantineReleased } from './quarantine-ledger.js';

/** Lets a group of an own keeper out. Nobody is there afterwards, so that no end is left to be told of. */
@Injectable()
export class ReleaseQuarantine {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND for a group of others; refuses as the rule `releaseQuarantine` does. */
  async execute(viewer: Viewer, command: z.infer<typeof releaseQuarantineCommand>): Promise<QuarantineOutcome> {
    const { groupId, on } = command;
    const reason = command.reason ?? null;
    const request = { action: 'health.release-quarantine', input: command, outcome: quarantineOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      await lockQuarantines(tx, [groupId]);
      const group = await findOwnQuarantine(tx, viewer, groupId);
      const decision = releaseQuarantine(group, on, reason, tx.today);
      if (!decision.ok) return decision;
      const { early } = decision.value;
      const there = group.entries.filter(({ leftOn }) => leftOn === null);
      await closeQuarantine(tx, { id: groupId, entryIds: there.map(({ id }) => id) }, on, early ? reason : null);
      const animalIds = there.map(({ animalId }) => animalId);
      await tx.ledger.append(quarantineReleased, {
        subjects: [groupId, ...animalIds],
        body: { groupId, keeperId: group.keeperId, animalIds, on, early },
        ...(reason === null ? {} : { personal: { reason } }),
      });
      return decide({ groupId });
    });
  }
}
