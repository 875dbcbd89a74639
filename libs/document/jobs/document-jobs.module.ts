import { Module } from '@nestjs/common';
import { NoticeStore } from '../../membership/index.js';
import { CheckExpiryHandler } from './check-expiry.handler.js';

/** The document context's job handlers, for the worker. */
@Module({ providers: [CheckExpiryHandler, NoticeStore], exports: [CheckExpiryHandler] })
export class DocumentJobsModule {}
