/** How often something may be done. */
export { RateLimitModule } from './rate-limit.module.js';
export { type RateLimit, RateLimits } from './rate-limits.js';
