import { Global, Module } from '@nestjs/common';
import { RateLimits } from './rate-limits.js';

/** One count for all that is limited, in every process. */
@Global()
@Module({ providers: [RateLimits], exports: [RateLimits] })
export class RateLimitModule {}
