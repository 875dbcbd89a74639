import { createHash } from 'node:crypto';
import { Injectable } from '@nestjs/common';
import { RateLimiterPostgres, RateLimiterRes } from 'rate-limiter-flexible';
import { rateLimited } from '../../kernel/index.js';
import { Database } from '../prisma/index.js';

/** At most `times` acts under one key, counted from the first of them for `seconds`. */
export type RateLimit = { readonly name: string; readonly times: number; readonly seconds: number };

type Statement = { readonly text: string; readonly values: readonly unknown[] };

/**
 * Counts acts in the database, so that all processes count together. Keys are stored as hashes: the table tells neither
 * addresses nor accounts.
 */
@Injectable()
export class RateLimits {
  private readonly limiters = new Map<string, RateLimiterPostgres>();

  constructor(private readonly database: Database) {}

  /** Counts one act. Throws RATE_LIMITED, with the seconds to wait, where the limit is reached; a refused act counts too. */
  async take(limit: RateLimit, key: string): Promise<void> {
    try {
      await this.limiterOf(limit).consume(hashOf(key));
    } catch (error) {
      if (error instanceof RateLimiterRes) throw rateLimited(Math.ceil(error.msBeforeNext / 1000));
      throw error;
    }
  }

  /** Throws RATE_LIMITED where the limit is reached, and counts nothing: for what is counted only once it has failed. */
  async require(limit: RateLimit, key: string): Promise<void> {
    const found = await this.limiterOf(limit).get(hashOf(key));
    if (found !== null && found.consumedPoints >= limit.times) throw rateLimited(Math.ceil(found.msBeforeNext / 1000));
  }

  /** Takes back the count of one act that turned out to be none of those the limit is for. */
  async giveBack(limit: RateLimit, key: string): Promise<void> {
    await this.limiterOf(limit).reward(hashOf(key));
  }

  /** Forgets what was counted under a key. */
  async forget(limit: RateLimit, key: string): Promise<void> {
    await this.limiterOf(limit).delete(hashOf(key));
  }

  private limiterOf({ name, times, seconds }: RateLimit): RateLimiterPostgres {
    const known = this.limiters.get(name);
    if (known !== undefined) return known;
    const made = new RateLimiterPostgres({
      storeClient: { query: (statement: Statement) => this.query(statement) },
      storeType: 'client',
      tableName: 'rate_limit',
      tableCreated: true, // by our migrations
      keyPrefix: name,
      points: times,
      duration: seconds,
    });
    this.limiters.set(name, made);
    return made;
  }

  /** The library's statements through the pool that is there. It reckons with plain numbers. */
  private async query({ text, values }: Statement): Promise<{ rows: object[]; rowCount: number }> {
    const found = await this.database.client.$queryRawUnsafe<object[]>(text, ...values);
    const rows = found.map((row) =>
      Object.fromEntries(
        Object.entries(row).map(([name, value]) => [
          name,
          typeof value === 'bigint' ? Number(value) : (value as unknown),
        ]),
      ),
    );
    return { rows, rowCount: rows.length };
  }
}

function hashOf(key: string): string {
  return createHash('sha256').update(key).digest('hex');
}
