import { Module } from '@nestjs/common';
import { NoticeStore } from '../../membership/index.js';
import { TransferStore } from '../store/transfer.store.js';
import { ExpireOffersHandler } from './expire-offers.handler.js';
import { LapseClaimsHandler } from './lapse-claims.handler.js';
import { RemindArrivalQuarantineHandler } from './remind-arrival-quarantine.handler.js';
import { RemindInstalmentsHandler } from './remind-instalments.handler.js';
import { RemindLoansHandler } from './remind-loans.handler.js';
import { TellClaimHandler } from './tell-claim.handler.js';
import { TellTransferHandler } from './tell-transfer.handler.js';

/** The transfer context's job handlers, for the worker. */
@Module({
  providers: [
    ExpireOffersHandler,
    LapseClaimsHandler,
    NoticeStore,
    RemindArrivalQuarantineHandler,
    RemindInstalmentsHandler,
    RemindLoansHandler,
    TellClaimHandler,
    TellTransferHandler,
    TransferStore,
  ],
  exports: [
    ExpireOffersHandler,
    LapseClaimsHandler,
    RemindArrivalQuarantineHandler,
    RemindInstalmentsHandler,
    RemindLoansHandler,
    TellClaimHandler,
    TellTransferHandler,
  ],
})
export class TransferJobsModule {}
