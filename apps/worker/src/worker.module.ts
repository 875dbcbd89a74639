import { type DynamicModule, Module } from '@nestjs/common';
import { type Config, ConfigModule } from '../../../libs/platform/config/index.js';
import { type AnyJobHandler, JobRegistry } from '../../../libs/platform/jobs/index.js';
import { PrismaModule } from '../../../libs/platform/prisma/index.js';
import { HANDLERS, JOB_MODULES, JOBS } from './jobs.js';
import { WorkerRuntime } from './worker-runtime.js';

/** The worker process: job handlers of every context, and the parts that bring them their messages. */
@Module({})
export class WorkerModule {
  static with(config: Config): DynamicModule {
    return {
      module: WorkerModule,
      imports: [ConfigModule.with(config), PrismaModule, ...JOB_MODULES],
      providers: [
        WorkerRuntime,
        {
          provide: JobRegistry,
          useFactory: (...handlers: AnyJobHandler[]) => new JobRegistry(JOBS, handlers),
          inject: HANDLERS,
        },
      ],
    };
  }
}
