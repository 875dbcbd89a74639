import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { actsFor, decide, notFound, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { longestRule } from '../core/quarantine-rules.core.js';
import { checkAfterEntry } from '../jobs/check-quarantine-end.job.js';
import { insertQuarantine } from '../store/quarantine-write.store.js';
import { admitAnimals } from './admit-animals.js';
import { type openQuarantineCommand, quarantineOutcome, type QuarantineOutcome } from './quarantine-commands.js';
import { quarantineOpened } from './quarantine-ledger.js';

/** Keeps animals of an own keeper apart as a closed group: the keeper's days, or the longest rule among their species. */
@Injectable()
export class OpenQuarantine {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND for a keeper the viewer does not act for, or an animal the keeper has not; refuses as `enterQuarantine` does. */
  async execute(viewer: Viewer, command: z.infer<typeof openQuarantineCommand>): Promise<QuarantineOutcome> {
    const { keeperId, animalIds, enteredOn } = command;
    const name = command.name ?? null;
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const request = { action: 'health.open-quarantine', input: command, outcome: quarantineOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const admitted = await admitAnimals(tx, { keeperId, groupId: null, animalIds, enteredOn });
      if (!admitted.ok) return admitted;
      const rule = longestRule(admitted.value);
      if (rule === null) throw new RangeError('A group has at least one animal.');
      const ownDays = command.days ?? null;
      const days = ownDays ?? rule.days;
      const restartScope = command.restartScope ?? 'order';
      const groupId = await insertQuarantine(tx, {
        keeperId,
        name: name ?? `Quarantine of ${enteredOn}`,
        days,
        daysSource: ownDays === null ? rule.source : `set by the keeper; ${rule.days} days after ${rule.source}`,
        restartScope,
        transferId: null,
        animalIds,
        enteredOn,
      });
      await checkAfterEntry(tx, groupId);
      await tx.ledger.append(quarantineOpened, {
        subjects: [groupId, ...animalIds],
        body: { groupId, keeperId, animalIds, enteredOn, days, restartScope },
        ...(name === null ? {} : { personal: { name } }),
      });
      return decide({ groupId });
    });
  }
}
