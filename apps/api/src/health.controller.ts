import { Controller, Get, ServiceUnavailableException } from '@nestjs/common';
import { Public } from '../../../libs/platform/graphql/index.js';
import { Database } from '../../../libs/platform/prisma/index.js';

/** Tells a load balancer or the launcher whether this process can answer. */
@Controller('health')
export class HealthController {
  constructor(private readonly database: Database) {}

  @Get()
  @Public('A load balancer does not sign in, and the answer says nothing but up or down.')
  async health(): Promise<{ status: 'up' }> {
    try {
      await this.database.client.$queryRaw`SELECT 1`;
    } catch {
      throw new ServiceUnavailableException({ status: 'down', why: 'the database does not answer' });
    }
    return { status: 'up' };
  }
}
