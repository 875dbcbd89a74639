/** Goes with every answer and notice about when animals are out of quarantine. */
export const QUARANTINE_CAUTION =
  'A count of days, not veterinary advice: your veterinarian and the rules of your country decide when animals leave quarantine and which tests they need before.';
