import passport from 'passport';
import { z } from 'zod';

/** What a strategy looks at. Passport only reads `headers` (jwt) and `body` (local). */
export type Credentials = { readonly headers?: Record<string, unknown>; readonly body?: Record<string, unknown> };

const principal = z.object({ accountId: z.uuid(), sessionId: z.uuid().optional() });

/** Who a strategy recognised: an account, and with a token the session it belongs to. */
export type Principal = z.infer<typeof principal>;

/**
 * Runs a Passport strategy outside of any middleware chain. Resolves to the account, or null when the credentials are
 * missing or do not fit; rejects when the strategy itself failed (database down).
 */
export function authenticate(strategy: 'jwt' | 'local', credentials: Credentials): Promise<Principal | null> {
  return new Promise((resolve, reject) => {
    const settle = (error: unknown, user: unknown): void => {
      const parsed = principal.safeParse(user);
      if (error !== null && error !== undefined)
        reject(error instanceof Error ? error : new Error('The sign-in strategy failed.'));
      else resolve(parsed.success ? parsed.data : null);
    };
    const request = { headers: {}, body: {}, query: {}, ...credentials };
    const run = passport.authenticate(strategy, { session: false }, settle) as (
      request: object,
      response: object,
      next: (error: unknown) => void,
    ) => void;
    run(request, {}, reject);
  });
}
