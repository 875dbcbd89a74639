import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { decide, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { checkAfterEntry } from '../jobs/check-quarantine-end.job.js';
import { insertEntries } from '../store/quarantine-write.store.js';
import { admitAnimals } from './admit-animals.js';
import { findOwnQuarantine } from './own-quarantine.js';
import { type joinQuarantineCommand, quarantineOutcome, type QuarantineOutcome } from './quarantine-commands.js';
import { quarantineJoined } from './quarantine-ledger.js';

/** Lets animals join a group of an own keeper; those within its scope start the clock anew. */
@Injectable()
export class JoinQuarantine {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND for a group of others, or an animal its keeper has not; refuses as `enterQuarantine` does. */
  async execute(viewer: Viewer, command: z.infer<typeof joinQuarantineCommand>): Promise<QuarantineOutcome> {
    const { groupId, animalIds, enteredOn } = command;
    const request = { action: 'health.join-quarantine', input: command, outcome: quarantineOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { keeperId } = await findOwnQuarantine(tx, viewer, groupId);
      const admitted = await admitAnimals(tx, { keeperId, groupId, animalIds, enteredOn });
      if (!admitted.ok) return admitted;
      await insertEntries(tx, { id: groupId, keeperId }, animalIds, enteredOn);
      await checkAfterEntry(tx, groupId);
      await tx.ledger.append(quarantineJoined, {
        subjects: [groupId, ...animalIds],
        body: { groupId, keeperId, animalIds, enteredOn },
      });
      return decide({ groupId });
    });
  }
}
