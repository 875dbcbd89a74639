import { Module } from '@nestjs/common';
import { SendDigestsHandler } from './send-digests.handler.js';

/** The membership context's job handlers, for the worker. */
@Module({ providers: [SendDigestsHandler], exports: [SendDigestsHandler] })
export class MembershipJobsModule {}
