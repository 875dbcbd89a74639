import { Module } from '@nestjs/common';
import { NoticeStore } from '../../membership/index.js';
import { TellMarkConflictHandler } from './tell-mark-conflict.handler.js';

/** The animal context's job handlers, for the worker. */
@Module({ providers: [NoticeStore, TellMarkConflictHandler], exports: [TellMarkConflictHandler] })
export class AnimalJobsModule {}
