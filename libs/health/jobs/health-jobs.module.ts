import { Module } from '@nestjs/common';
import { NoticeStore } from '../../membership/index.js';
import { CheckQuarantineEndHandler } from './check-quarantine-end.handler.js';

/** The health context's job handlers, for the worker. */
@Module({ providers: [CheckQuarantineEndHandler, NoticeStore], exports: [CheckQuarantineEndHandler] })
export class HealthJobsModule {}
