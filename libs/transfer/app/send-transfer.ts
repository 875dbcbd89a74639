import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { lockAnimals } from '../../animal/index.js';
import { lockEggs, putOnWay } from '../../breeding/index.js';
import { decide, type Decision, type Viewer } from '../../kernel/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { checkSending, passChecks } from '../checks/send-checks.core.js';
import { sendTransfer } from '../core/steps.core.js';
import { eggSendProblem } from '../eggs/transfer-eggs.core.js';
import { readAnimalsAtHand } from '../store/animals-at-hand.store.js';
import { type Transfer, WAYS } from '../core/transfer.core.js';
import { tellOtherSide } from '../jobs/tell-transfer.job.js';
import { readSendFacts, readSendPolicy } from '../checks/send-facts.store.js';
import { TransferStore } from '../store/transfer.store.js';
import {
  reasonInput,
  requireStep,
  shareWithReceiver,
  stepCommand,
  type StepOutcome,
  stepOutcome,
} from './step-command.js';
import { animalIdsOf, subjectsOf, transferSent } from './transfer-ledger.js';
import { dayInput } from '../../platform/input/index.js';

/** A transfer, the day its animals left the giver's hands, and how; `reason` is asked for in spite of a quarantine. */
export const sendCommand = stepCommand.extend({
  sentOn: dayInput,
  way: z.enum(WAYS).nullish(),
  carrier: z.string().trim().max(120, 'The carrier is too long. | Use at most 120 characters.').nullish(),
  tracking: z.string().trim().max(120, 'The tracking number is too long. | Use at most 120 characters.').nullish(),
  reason: reasonInput.nullish(),
});

/** The giver sends the animals, or hands them over. The giver holds them on paper until they are received. */
@Injectable()
export class SendTransfer {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND, FORBIDDEN, STALE_VERSION, RULE_REFUSED TRANSFER_NOT_ACCEPTED and what `sendTransfer` and `passChecks` refuse. */
  async execute(viewer: Viewer, command: z.infer<typeof sendCommand>): Promise<StepOutcome> {
    const request = { action: 'transfer.send', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const transfer = await this.transfers.lock(tx, viewer, command.transferId, command.expectedVersion);
      requireStep(viewer, 'send', transfer);
      const sent = await this.within(tx, transfer, command);
      if (!sent.ok) return sent;
      await tellOtherSide(tx, transfer, 'giver', 'sent');
      return decide({ transferId: transfer.id });
    });
  }

  /**
   * The step itself, on a locked transfer; tells nobody. Gives it as it is then. `reasonGiven`: the giver gave a reason, here or
   * when the hand-over was opened, where it is kept then.
   */
  async within(
    tx: Tx,
    transfer: Transfer,
    command: Omit<z.infer<typeof sendCommand>, 'transferId' | 'expectedVersion'>,
    reasonGiven = (command.reason ?? null) !== null,
  ): Promise<Decision<Transfer>> {
    await lockAnimals(tx, animalIdsOf(transfer));
    const animals = await readAnimalsAtHand(tx, transfer.fromKeeperId, animalIdsOf(transfer), transfer.id);
    const decision = sendTransfer(transfer, command.sentOn, animals, tx.today);
    if (!decision.ok) return decision;
    const eggs = eggSendProblem(transfer, await lockEggs(tx, transfer.eggs), command.sentOn);
    if (!eggs.ok) return eggs;
    const facts = await readSendFacts(tx.db, transfer, command.sentOn);
    const policy = await readSendPolicy(tx.db, transfer);
    const passed = passChecks(checkSending(transfer, facts, policy, command.sentOn), reasonGiven);
    if (!passed.ok) return passed;
    const warnings = passed.value.map(({ check, subjectId }) => ({ check, subjectId }));
    const { way = null, carrier = null, tracking = null, reason = null } = command;
    const sent = { ...decision.value, way, carrier, tracking };
    await this.transfers.save(tx, transfer.version, sent);
    await putOnWay(
      tx,
      transfer.id,
      transfer.eggs.map(({ eggId }) => eggId),
    );
    await shareWithReceiver(tx, transfer);
    await tx.ledger.append(transferSent, {
      subjects: subjectsOf(transfer),
      body: {
        transferId: transfer.id,
        sentOn: command.sentOn,
        ...(way === null ? {} : { way }),
        ...(warnings.length > 0 ? { warnings } : {}),
      },
      personal: Object.fromEntries(
        Object.entries({ carrier, tracking, reason }).filter((text): text is [string, string] => text[1] !== null),
      ),
    });
    return decide({ ...sent, version: transfer.version + 1 });
  }
}
