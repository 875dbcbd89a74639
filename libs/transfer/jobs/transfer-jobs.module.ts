import { Module } from '@nestjs/common';
import { NoticeStore } from '../../membership/index.js';
import { RemindArrivalQuarantineHandler } from './remind-arrival-quarantine.handler.js';

/** The transfer context's job handlers, for the worker. */
@Module({
  providers: [NoticeStore, RemindArrivalQuarantineHandler],
  exports: [RemindArrivalQuarantineHandler],
})
export class TransferJobsModule {}
