-- Asks that a recall ended so far stood as declined or withdrawn, at the moment of the recall: both were written in one transaction.
-- Lock cost: row locks on those asks.

UPDATE loan_extension e SET outcome = 'ended_by_recall'
WHERE e.outcome IN ('declined', 'withdrawn') AND EXISTS (SELECT FROM loan_extension r
  WHERE r.transfer_id = e.transfer_id AND r.outcome = 'recalled' AND r.asked_at = e.answered_at);
