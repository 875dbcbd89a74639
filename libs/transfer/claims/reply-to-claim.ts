import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { decide, forbidden, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { replyToClaim } from './claim.core.js';
import { tellClaim } from '../jobs/tell-claim.job.js';
import { saveReply } from './claim.store.js';
import {
  claimCommand,
  type ClaimOutcome,
  claimOutcome,
  claimReplied,
  lockClaim,
  statementInput,
} from './claim-command.js';

export const replyToClaimCommand = claimCommand.extend({ statement: statementInput });

/** An owner by the record states its side of a claim, once. */
@Injectable()
export class ReplyToClaim {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, FORBIDDEN for the claimant, CLAIM_ENDED, CLAIM_REPLIED. */
  async execute(viewer: Viewer, command: z.infer<typeof replyToClaimCommand>): Promise<ClaimOutcome> {
    const request = { action: 'transfer.reply-to-claim', input: command, outcome: claimOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { claim, mine } = await lockClaim(tx, viewer, command.claimId);
      if (mine.every((number) => number === 1)) throw forbidden('A reply is the other side’s to give.');
      const decision = replyToClaim(claim, mine);
      if (!decision.ok) return decision;
      await saveReply(tx, claim.id, decision.value, command.statement);
      await tx.outbox.send(tellClaim, { claimId: claim.id, what: 'replied', by: [...mine], round: decision.value });
      await tx.ledger.append(claimReplied, {
        subjects: [claim.animalId],
        body: { claimId: claim.id, animalId: claim.animalId, party: decision.value },
        personal: { statement: command.statement },
      });
      return decide({ claimId: claim.id });
    });
  }
}
