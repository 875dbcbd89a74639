import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { decide, type Decision, refuse, type Viewer } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { awaitedSides } from '../checks/countersign.core.js';
import { type Transfer } from '../core/transfer.core.js';
import { AcceptTransfer } from '../app/accept-transfer.js';
import { type receiveCommand, ReceiveTransfer } from '../app/receive-transfer.js';
import { SendTransfer } from '../app/send-transfer.js';
import { type StepOutcome } from '../app/step-command.js';

const NOT_READY =
  'The giver cannot hand it over as it is. The giver opens the hand-over again, or sends it, and is told what is in the way.';

/** The steps of a hand-over in person, one after the other in one transaction. */
@Injectable()
export class HandOverSteps {
  constructor(
    private readonly accept: AcceptTransfer,
    private readonly send: SendTransfer,
    private readonly receive: ReceiveTransfer,
  ) {}

  /**
   * Accepts what is only offered, sends it and receives it today. `reasonGiven` when it was opened, in spite of a quarantine.
   * What is in the way of sending is the giver's to know. Both are there, so the giver alone hears of it, as received: nothing is on its way.
   */
  async run(
    tx: Tx,
    viewer: Viewer,
    transfer: Transfer,
    said: Pick<z.infer<typeof receiveCommand>, 'items' | 'eggs'>,
    reasonGiven: boolean,
  ): Promise<Decision<StepOutcome>> {
    const accepted = transfer.state === 'offered' ? await this.accept.within(tx, viewer, transfer) : decide(transfer);
    if (!accepted.ok) return accepted;
    const sent = await this.send.within(tx, accepted.value, { sentOn: tx.today, way: 'in_person' }, reasonGiven);
    if (!sent.ok && awaitedSides(accepted.value, tx.today).includes('receiver'))
      return refuse('TRANSFER_COUNTERSIGNATURE_AWAITED', 'Your side countersigns the transfer first.');
    if (!sent.ok) return refuse('HAND_OVER_NOT_READY', NOT_READY);
    return this.receive.within(tx, sent.value, { receivedOn: tx.today, ...said });
  }
}
