import { Global, Inject, Injectable, Module, type OnApplicationShutdown } from '@nestjs/common';
import { Clock } from '../clock.js';
import { CONFIG, type Config } from '../config/index.js';
import { createPrismaClient, type PrismaClient } from './client.js';
import { UnitOfWork } from './unit-of-work.js';

/** Holds the process's database pool and closes it last. */
@Injectable()
export class Database implements OnApplicationShutdown {
  readonly client: PrismaClient;

  constructor(@Inject(CONFIG) config: Config) {
    this.client = createPrismaClient(config.databaseUrl);
  }

  async onApplicationShutdown(): Promise<void> {
    await this.client.$disconnect();
  }
}

@Global()
@Module({
  providers: [
    Clock,
    Database,
    {
      provide: UnitOfWork,
      useFactory: (database: Database, clock: Clock) => new UnitOfWork(database.client, clock),
      inject: [Database, Clock],
    },
  ],
  exports: [Clock, Database, UnitOfWork],
})
export class PrismaModule {}
