import { Module } from '@nestjs/common';
import { NoticeStore } from '../../membership/index.js';
import { CheckPhotosDueHandler } from './check-photos-due.handler.js';
import { TellMarkConflictHandler } from './tell-mark-conflict.handler.js';

/** The animal context's job handlers, for the worker. */
@Module({
  providers: [CheckPhotosDueHandler, NoticeStore, TellMarkConflictHandler],
  exports: [CheckPhotosDueHandler, TellMarkConflictHandler],
})
export class AnimalJobsModule {}
