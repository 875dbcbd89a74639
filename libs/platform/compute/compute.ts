import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { Injectable, Module, type OnApplicationShutdown } from '@nestjs/common';
import { Piscina } from 'piscina';
import { type Work } from './work.js';

/** Threads are kept this long without work: their code is loaded and compiled by then. */
const IDLE_MS = 30_000;
/** Beyond this many threads, work waits its turn: each may hold a pedigree of a million animals while it computes. */
const MAX_THREADS = 4;

/** Tests run from the sources; there a thread compiles what it loads. Built files need none of this. */
const FROM_SOURCE = import.meta.url.endsWith('.ts');

/** Runs what would keep the event loop busy in worker threads. No thread exists before the first work or long after the last. */
@Injectable()
export class Compute implements OnApplicationShutdown {
  private pool: Piscina | undefined;

  /** Runs work in a thread. What the function throws is thrown here, also when the application closes meanwhile. */
  async run<Input, Output>(work: Work<Input, Output>, input: Input): Promise<Output> {
    this.pool ??= createPool();
    const module = FROM_SOURCE ? work.module.replace(/\.js$/, '.ts') : work.module;
    return (await this.pool.run(input, { filename: fileURLToPath(module), name: work.name })) as Output;
  }

  async onApplicationShutdown(): Promise<void> {
    await this.pool?.destroy();
  }
}

@Module({ providers: [Compute], exports: [Compute] })
export class ComputeModule {}

function createPool(): Piscina {
  const loader = new URL('./source-loader.mjs', import.meta.url).href;
  const register = `data:text/javascript,import{register}from"node:module";register(${JSON.stringify(loader)})`;
  return new Piscina({
    minThreads: 0,
    maxThreads: Math.min(MAX_THREADS, Math.max(1, availableParallelism() - 1)),
    idleTimeout: IDLE_MS,
    execArgv: FROM_SOURCE ? ['--import', register] : [],
  });
}
