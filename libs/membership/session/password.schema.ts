import { z } from 'zod';

/** A new password. ASVS 5.0, 6.2.1: at least 8 characters, 15 recommended; no rules of composition. */
export const newPassword = z
  .string()
  .min(12, 'The password is too short. | Use at least 12 characters; a few words in a row are fine.')
  .max(200, 'The password is too long. | Use at most 200 characters.');

/** An e-mail address as accounts are found by. */
export const emailAddress = z
  .email('This is not an e-mail address. | Write it like name@example.org.')
  .max(254)
  .transform((text) => text.toLowerCase());
