import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, DomainError, invalidInput, ruleRefused, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { type RateLimit, RateLimits } from '../../platform/rate-limit/index.js';
import { decideCode, decideOpening } from './hand-over.core.js';
import { parseSpokenCode, SHORT_PAYLOAD_LENGTH } from './spoken-code.core.js';
import { SpokenCodes } from './spoken-codes.js';
import { countWrongTry, lastCode, useCode } from './hand-over-code.store.js';
import { TransferStore } from '../store/transfer.store.js';
import { HandOverSteps } from './hand-over-steps.js';
import { receiveCommand } from '../app/receive-transfer.js';
import { requireStep, type StepOutcome } from '../app/step-command.js';
import { handOverConfirmed, handOverTried, subjectsOf } from '../app/transfer-ledger.js';

/** A transfer, the code the giver shows, and how everything is that was handed over. */
export const confirmHandOverCommand = receiveCommand
  .omit({ receivedOn: true, moreToCome: true })
  .extend({ code: z.string().max(40, 'This is no code of a hand-over. | Type the ten characters the giver shows.') });

const outcome = z.object({ transferId: z.uuid(), wrong: z.boolean() });

/** Tries of codes, right and wrong, of one account. */
const CODE_TRIES: RateLimit = { name: 'hand-over-codes', times: 30, seconds: 3_600 };

/**
 * The receiver enters the code the giver shows and says how everything is: accepted, sent and received in one act, for both
 * were there. A wrong code writes nothing but that it was tried.
 */
@Injectable()
export class ConfirmHandOver {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
    private readonly codes: SpokenCodes,
    private readonly limits: RateLimits,
    private readonly steps: HandOverSteps,
  ) {}

  /**
   * Throws NOT_FOUND, FORBIDDEN, STALE_VERSION, RATE_LIMITED, INVALID_INPUT for a mistyped code, RULE_REFUSED HAND_OVER_CODE_*,
   * HAND_OVER_NOT_OPEN, HAND_OVER_NOT_READY and what accepting and receiving refuse.
   */
  async execute(viewer: Viewer, command: z.infer<typeof confirmHandOverCommand>): Promise<StepOutcome> {
    const code = parseSpokenCode(command.code, SHORT_PAYLOAD_LENGTH);
    if (code === null) throw mistyped();
    await this.limits.take(CODE_TRIES, viewer.accountId);
    const request = { action: 'transfer.confirm-hand-over', input: { ...command, code }, outcome };
    const done = await this.uow.write(viewer, request, async (tx) => {
      const { transferId, expectedVersion, items, eggs } = command;
      const transfer = await this.transfers.lock(tx, viewer, transferId, expectedVersion);
      requireStep(viewer, 'receive', transfer, 'confirm its hand-over');
      const last = await lastCode(tx, transfer.id);
      const told = decideCode(last, (id) => this.codes.handOverHash(id, code), tx.now);
      if (!told.ok) return told;
      const { id: handOverId = '', reasonGiven = false } = last ?? {};
      const subjects = subjectsOf(transfer);
      if (told.value === 'wrong' && last !== null) {
        await countWrongTry(tx, last);
        await tx.ledger.append(handOverTried, { subjects, body: { transferId: transfer.id, handOverId } });
        return decide({ transferId: transfer.id, wrong: true });
      }
      const open = decideOpening(transfer);
      if (!open.ok) return open;
      const received = await this.steps.run(tx, viewer, transfer, { items, eggs }, reasonGiven);
      if (!received.ok) return received;
      await useCode(tx, handOverId);
      await tx.ledger.append(handOverConfirmed, { subjects, body: { transferId: transfer.id, handOverId } });
      return decide({ transferId: transfer.id, wrong: false });
    });
    if (done.wrong) throw ruleRefused({ rule: 'HAND_OVER_CODE_WRONG', message: WRONG });
    return { transferId: done.transferId };
  }
}

const WRONG = 'This is not the code of this hand-over. Compare it with what the giver shows; ten wrong tries close it.';

function mistyped(): DomainError {
  return invalidInput([
    {
      path: 'input.code',
      message: 'This is not a code of a hand-over: a character is wrong, missing or swapped.',
      remedy: 'Compare it with what the giver shows, character by character: two groups of five.',
    },
  ]);
}
