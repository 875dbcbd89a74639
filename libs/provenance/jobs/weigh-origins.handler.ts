import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { type JobHandler } from '../../platform/jobs/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { OriginWeigher } from './origin-weigher.js';
import { weighOrigins } from './weigh-origins.job.js';

type Payload = z.infer<typeof weighOrigins.payload>;

/** Weighs one batch of a line. */
@Injectable()
export class WeighOriginsHandler implements JobHandler<Payload> {
  readonly job = weighOrigins;

  constructor(private readonly weigher: OriginWeigher) {}

  async handle(tx: Tx, { animalIds }: Payload): Promise<void> {
    await this.weigher.weigh(tx, animalIds);
  }
}
