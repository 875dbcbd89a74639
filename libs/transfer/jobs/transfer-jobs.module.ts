import { Module } from '@nestjs/common';
import { NoticeStore } from '../../membership/index.js';
import { TransferStore } from '../store/transfer.store.js';
import { ExpireOffersHandler } from './expire-offers.handler.js';
import { RemindArrivalQuarantineHandler } from './remind-arrival-quarantine.handler.js';
import { TellClaimHandler } from './tell-claim.handler.js';
import { TellTransferHandler } from './tell-transfer.handler.js';

/** The transfer context's job handlers, for the worker. */
@Module({
  providers: [
    ExpireOffersHandler,
    NoticeStore,
    RemindArrivalQuarantineHandler,
    TellClaimHandler,
    TellTransferHandler,
    TransferStore,
  ],
  exports: [ExpireOffersHandler, RemindArrivalQuarantineHandler, TellClaimHandler, TellTransferHandler],
})
export class TransferJobsModule {}
