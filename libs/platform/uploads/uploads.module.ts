import { Inject, Module, type OnModuleInit } from '@nestjs/common';
import { HttpAdapterHost } from '@nestjs/core';
import { type FastifyInstance } from 'fastify';
import { allowRawBodies } from './raw-body.js';

/** Lets routes that take files read their body as a stream. */
@Module({})
export class UploadsModule implements OnModuleInit {
  constructor(@Inject(HttpAdapterHost) private readonly host: HttpAdapterHost) {}

  onModuleInit(): void {
    // Without HTTP (the demo loader builds the application for its use cases alone) there is no adapter.
    const { httpAdapter } = this.host as { httpAdapter: HttpAdapterHost['httpAdapter'] | null };
    if (httpAdapter !== null) allowRawBodies(httpAdapter.getInstance<FastifyInstance>());
  }
}
