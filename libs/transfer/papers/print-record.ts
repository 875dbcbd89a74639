import { Inject, Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { z } from 'zod';
import { type Day, decide, forbidden, ruleRefused, type Viewer } from '../../kernel/index.js';
import { canonicalJson, sha256Hex } from '../../platform/canonical.js';
import { CONFIG, type Config } from '../../platform/config/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { paperIssued, subjectsOf } from '../app/transfer-ledger.js';
import { sidesOf } from '../core/policy.core.js';
import { type PaperContent } from './record-paper.core.js';
import { formatSpokenCode, type SpokenCode } from '../hand-over/spoken-code.core.js';
import { type Transfer } from '../core/transfer.core.js';
import { RecordPaperStore } from './record-paper.store.js';
import { TransferStore } from '../store/transfer.store.js';
import { PaperContents } from './paper-contents.js';
import { type PaperSheet } from './record-paper.pdf.js';
import { SpokenCodes } from '../hand-over/spoken-codes.js';

const outcome = z.object({ checkCode: z.string() });

/** Prints the record of a transfer's animals and eggs for one of its parties. */
@Injectable()
export class PrintRecord {
  constructor(
    @Inject(CONFIG) private readonly config: Config,
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
    private readonly papers: RecordPaperStore,
    private readonly contents: PaperContents,
    private readonly codes: SpokenCodes,
  ) {}

  /**
   * What to draw. The same content is one paper, however often it is printed. The claim code stands on the giver's copy
   * only, and only until it is used. Throws NOT_FOUND; FORBIDDEN when the receiver asks for the giver's name;
   * RULE_REFUSED TRANSFER_CAME_TO_NOTHING when it was declined or withdrawn or the viewer reads none of its animals and eggs.
   */
  async execute(viewer: Viewer, request: { transferId: string; showGiver: boolean; today: Day }): Promise<PaperSheet> {
    const { transfer, fromLabel } = await this.transfers.getVisible(viewer, request.transferId);
    const givesIt = sidesOf(viewer, transfer).includes('giver');
    if (request.showGiver && !givesIt) throw forbidden('Only the giver decides whether its name stands on the paper.');
    const content = await this.contents.read(viewer, transfer, request.showGiver);
    const isEmpty = content.animals.length === 0 && content.eggs === undefined;
    if (transfer.state === 'declined' || transfer.state === 'withdrawn' || isEmpty) {
      const message = 'No animals or eggs go with this transfer, so there is no record to print.';
      throw ruleRefused({ rule: 'TRANSFER_CAME_TO_NOTHING', message });
    }
    const checkCode = await this.issue(viewer, transfer, content);
    const { publicUrl } = this.config;
    return {
      content,
      printedOn: request.today,
      giverName: request.showGiver ? fromLabel : null,
      claimCode: givesIt ? await this.claimCode(transfer) : null,
      checkUrl: `${publicUrl}/papers/${checkCode}`,
      registryUrl: publicUrl,
    };
  }

  private async issue(viewer: Viewer, transfer: Transfer, content: PaperContent): Promise<string> {
    const contentHash = sha256Hex(canonicalJson(content));
    const same = await this.papers.findSame(transfer.id, contentHash);
    if (same !== null) return same.checkCode;
    const id = uuid();
    const write = { action: 'transfer.print-record', input: { id: transfer.id, contentHash }, outcome };
    const issued = await this.uow.write(viewer, write, async (tx) => {
      const checkCode = this.codes.checkCode();
      const paper = { id, transferId: transfer.id, checkCode, issuedBy: viewer.accountId, content, contentHash };
      await this.papers.insert(tx, paper);
      await tx.ledger.append(paperIssued, {
        subjects: subjectsOf(transfer),
        body: { transferId: transfer.id, paperId: id, contentHash },
      });
      return decide({ checkCode });
    });
    return issued.checkCode;
  }

  private async claimCode(transfer: Transfer): Promise<string | null> {
    if (transfer.receiver.kind !== 'outside_party') return null;
    const code: SpokenCode = this.codes.claimCode(transfer.id);
    // Under a new server secret the code would differ from the one that was given out: better none than a wrong one.
    const stored = await this.papers.findClaimHash(transfer.id);
    return stored === this.codes.hash(code) ? formatSpokenCode(code) : null;
  }
}
