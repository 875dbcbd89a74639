import { Module } from '@nestjs/common';
import { NoticeStore } from '../../membership/index.js';
import { TellTheftHandler } from './tell-theft.handler.js';

/** The custody context's job handlers, for the worker. */
@Module({ providers: [NoticeStore, TellTheftHandler], exports: [TellTheftHandler] })
export class CustodyJobsModule {}
