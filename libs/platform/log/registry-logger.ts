import { type LoggerService } from '@nestjs/common';
import { pino } from 'pino';

/** Nest's logger over pino: one JSON line an event on standard error, `LOG_LEVEL`-free and quiet unless something is wrong. */
export class RegistryLogger implements LoggerService {
  private readonly pino = pino({ level: 'warn', base: null }, pino.destination(2));

  log(): void {
    // Nest reports each module and route it mounts; nobody reads that.
  }

  warn(message: unknown, context?: unknown): void {
    this.pino.warn({ context }, String(message));
  }

  error(message: unknown, stack?: unknown, context?: unknown): void {
    this.pino.error({ context, stack }, String(message));
  }

  fatal(message: unknown, context?: unknown): void {
    this.pino.fatal({ context }, String(message));
  }
}
