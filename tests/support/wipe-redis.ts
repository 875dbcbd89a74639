import { Redis } from 'ioredis';

/** Deletes what the queue of one database keeps in Redis, and nothing else. */
export async function wipeRedis(redisUrl: string, databaseUrl: string): Promise<void> {
  const redis = new Redis(redisUrl);
  const keys = await redis.keys(`kithbook-${new URL(databaseUrl).pathname.slice(1)}:*`);
  if (keys.length > 0) await redis.del(keys);
  await redis.quit();
}
