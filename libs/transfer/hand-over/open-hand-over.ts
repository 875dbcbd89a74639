import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { z } from 'zod';
import { decide, type Viewer } from '../../kernel/index.js';
import { Database, UnitOfWork } from '../../platform/prisma/index.js';
import { CODE_LIVES_MS, decideOpening } from './hand-over.core.js';
import { checkSending, passChecks } from '../checks/send-checks.core.js';
import { formatSpokenCode } from './spoken-code.core.js';
import { SpokenCodes } from './spoken-codes.js';
import { openCode } from './hand-over-code.store.js';
import { readSendFacts, readSendPolicy } from '../checks/send-facts.store.js';
import { TransferStore } from '../store/transfer.store.js';
import { reasonInput, requireStep, stepCommand } from '../app/step-command.js';
import { handOverOpened, subjectsOf } from '../app/transfer-ledger.js';

/** A transfer; `reason` is asked for in spite of a quarantine. */
export const openHandOverCommand = stepCommand.extend({ reason: reasonInput.nullish() });

const outcome = z.object({ transferId: z.uuid(), handOverId: z.uuid(), expiresAt: z.string() });

/** What the giver shows: the code in the form for reading aloud, and when it stops working. */
export type OpenedHandOver = { readonly transferId: string; readonly code: string; readonly expiresAt: Date };

/** The giver opens a hand-over in person: a code for the receiver, who stands there too, to enter. */
@Injectable()
export class OpenHandOver {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
    private readonly codes: SpokenCodes,
    private readonly database: Database,
  ) {}

  /**
   * A code opened before stops working. Throws NOT_FOUND, FORBIDDEN, STALE_VERSION, RULE_REFUSED HAND_OVER_NO_ACCOUNT,
   * HAND_OVER_NOT_OPEN, and what `passChecks` refuses.
   */
  async execute(viewer: Viewer, command: z.infer<typeof openHandOverCommand>): Promise<OpenedHandOver> {
    const request = { action: 'transfer.open-hand-over', input: command, outcome };
    const made = await this.uow.write(viewer, request, async (tx) => {
      const transfer = await this.transfers.lock(tx, viewer, command.transferId, command.expectedVersion);
      requireStep(viewer, 'send', transfer, 'open its hand-over and show the code');
      const possible = decideOpening(transfer);
      if (!possible.ok) return possible;
      const facts = await readSendFacts(tx.db, transfer, tx.today);
      const policy = await readSendPolicy(tx.db, transfer);
      const reason = command.reason ?? null;
      const reasonGiven = reason !== null;
      const passed = passChecks(checkSending(transfer, facts, policy, tx.today), reasonGiven);
      if (!passed.ok) return passed;
      const handOverId = uuid();
      const expiresAt = new Date(tx.now.getTime() + CODE_LIVES_MS);
      const codeHash = this.codes.handOverHash(handOverId, this.codes.handOverCode(handOverId));
      await openCode(
        tx,
        { id: handOverId, transferId: transfer.id, codeHash, expiresAt, reasonGiven },
        viewer.accountId,
      );
      await tx.ledger.append(handOverOpened, {
        subjects: subjectsOf(transfer),
        body: { transferId: transfer.id, handOverId },
        // With the giver's entry: that it was sent is written by the receiver, who need not know why.
        ...(reason === null ? {} : { personal: { reason } }),
      });
      return decide({ transferId: transfer.id, handOverId, expiresAt: expiresAt.toISOString() });
    });
    // Derived again and never stored: a repeated request gives the same code.
    const code = formatSpokenCode(this.codes.handOverCode(made.handOverId));
    return { transferId: made.transferId, code, expiresAt: new Date(made.expiresAt) };
  }

  /** The code that works now, for its giver to show again; null = none does. Throws NOT_FOUND, FORBIDDEN. */
  async readCode(viewer: Viewer, transferId: string, now: Date): Promise<string | null> {
    const { transfer } = await this.transfers.getVisible(viewer, transferId);
    requireStep(viewer, 'send', transfer, 'open its hand-over and show the code');
    const open = await this.database.client.handOverCode.findFirst({
      where: { transferId, closedAt: null, expiresAt: { gt: now } },
      select: { id: true },
    });
    return open === null ? null : formatSpokenCode(this.codes.handOverCode(open.id));
  }
}
