import { Module } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { TaxonModule } from '../taxon/index.js';
import { AcceptTransfer } from './app/accept-transfer.js';
import { DeclineTransfer } from './app/decline-transfer.js';
import { OfferTransfer } from './app/offer-transfer.js';
import { ReceiveTransfer } from './app/receive-transfer.js';
import { SendTransfer } from './app/send-transfer.js';
import { TakeUpTransfer } from './app/take-up-transfer.js';
import { WithdrawTransfer } from './app/withdraw-transfer.js';
import { OfferTransferResolver } from './graphql/offer-transfer.resolver.js';
import { TransferStepsResolver } from './graphql/transfer-steps.resolver.js';
import { TransferResolver } from './graphql/transfer.resolver.js';
import { PaperContents } from './papers/paper-contents.js';
import { PaperPageController } from './papers/paper-page.controller.js';
import { PrintRecord } from './papers/print-record.js';
import { RecordPaperController } from './papers/record-paper.controller.js';
import { SpokenCodes } from './papers/spoken-codes.js';
import { RecordPaperStore } from './store/record-paper.store.js';
import { TransferStore } from './store/transfer.store.js';

/** Hand-overs and the papers that go with them. Job handlers are in `TransferJobsModule`. */
@Module({
  imports: [AnimalModule, TaxonModule],
  controllers: [PaperPageController, RecordPaperController],
  providers: [
    AcceptTransfer,
    DeclineTransfer,
    OfferTransfer,
    OfferTransferResolver,
    PaperContents,
    PrintRecord,
    ReceiveTransfer,
    RecordPaperStore,
    SendTransfer,
    SpokenCodes,
    TakeUpTransfer,
    TransferResolver,
    TransferStepsResolver,
    TransferStore,
    WithdrawTransfer,
  ],
  exports: [AcceptTransfer, OfferTransfer, PrintRecord, ReceiveTransfer, SendTransfer, TakeUpTransfer],
})
export class TransferModule {}
