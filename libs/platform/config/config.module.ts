import { type DynamicModule, Global, Module } from '@nestjs/common';
import { type Config } from './config.js';

/** Injection token of the configuration. */
export const CONFIG = Symbol('config');

/** Hands one checked configuration to every module. */
@Global()
@Module({})
export class ConfigModule {
  static with(config: Config): DynamicModule {
    return { module: ConfigModule, providers: [{ provide: CONFIG, useValue: config }], exports: [CONFIG] };
  }
}
