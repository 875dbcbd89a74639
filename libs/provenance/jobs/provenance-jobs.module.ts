import { Module } from '@nestjs/common';
import { NoticeStore } from '../../membership/index.js';
import { OriginWeigher } from './origin-weigher.js';
import { RecheckOriginHandler } from './recheck-origin.handler.js';
import { SweepOriginsHandler } from './sweep-origins.handler.js';
import { WeighOriginsHandler } from './weigh-origins.handler.js';

/** The provenance context's job handlers, for the worker. */
@Module({
  providers: [NoticeStore, OriginWeigher, RecheckOriginHandler, SweepOriginsHandler, WeighOriginsHandler],
  exports: [RecheckOriginHandler, SweepOriginsHandler, WeighOriginsHandler],
})
export class ProvenanceJobsModule {}
