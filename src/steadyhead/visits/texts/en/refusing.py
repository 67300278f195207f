"""Words of the reasons why a step does not count although everything was noted."""

TEXTS = {
    "rf.words_other": "The words noted are not those of the station file, {switch_text}, and called right. "
    "Have the screen read out again; correct the words, or answer no. Where the file is old, mend it.",
    "rf.one_gauge": "One gauge gave both readings: against itself it always agrees. Put a second gauge on "
    "that tap, describe it, read it.",
    "rf.run_falls": "Run {run}: the reading at the action lies below the last hold. A trip is proved by "
    "rising pressure.",
    "rf.run_wide": "Run {run}: more than two steps of {step} lie between the last hold and the action. "
    "Raise in smaller steps.",
    "rf.run_step": "The last step was larger than {step}, half of what {so} repeats within. Raise in "
    "smaller steps.",
    "rf.run_above": "Run {run}: the outlet was raised past {edge}, the highest of a test. Open {td}, lower "
    "the reducer; the shut-off has not acted where it should.",
    "rf.run_flow": "The flow at the run is not that of a trickle: without running water nothing is proved.",
    "rf.run_inlet": "{t1} does not lie above the reading at the action: the line did not raise the outlet.",
    "rf.wall_none": "A wall of a pipe with water in it lies between {wall_least} and {wall_most}.",
    "rf.wall_moves": "The wall warmed or cooled too far while it was watched: the pressure tells of "
    "the wall, not of a leak.",
    "rf.start_apart": "{t3} as it began to shut lies further than {start_fit} from the reading at the "
    "action.",
    "rf.told_early": "The time told lies before {so} moved: this was another alarm, or a clock is wrong.",
    "rf.told_ahead": "The time noted lies after the moment it was entered.",
    "rf.told_late": "The time told lies more than {told_late} after {so} moved: another alarm, or it comes "
    "too late.",
    "rf.alarm_shown": "The value shown at the control room and {t3} differ by more than {shown_fit}.",
    "rf.flow_point": "Point {number}: the flow is not that of the plan, {point_flow}.",
    "rf.shown_early": "Noted before {step} was done: what it is to show could not be seen yet.",
    "rf.filled_open": "{valve} is not said to stand shut before this: it was opened again, or nobody can "
    "read how it was last said to stand. Consumers may have been connected while the line was filled.",
    "rf.first_twice": "A second run is written down as the first of the day. The first stands alone; a "
    "slip is corrected, not run again.",
    "rf.first_touched": "{so} was moved or touched before its first run, or may have been where a clock is "
    "unsure: this is no as-found value.",
    "rf.between_touched": "{so} was worked between its first run of today and these: the first counts no "
    "more. Take the way of a shut-off that was opened, or the plan after a repair: all its runs anew.",
    "rf.lift_touched": "{rl} was worked after it lifted as found: what it lifts at now is not known. "
    "Let it lift once more and seat again, or take the plan after a repair of the relief valve.",
    "rf.turns_off": "{valve} takes {full_turns} from shut to open: by this count it does not stand fully "
    "open. Open it to its stop, count again.",
    "rf.turns_none": "Less than a quarter turn is counted at {valve}: by this count it is not open.",
    "rf.count_far": "Less than {turns_least} or more than {turns_most} is counted at {valve}: such a count "
    "is none of this step. Count again, correct the count.",
    "rf.count_many": "More than {turns_most} are counted at {valve}, far more than open and shut take. "
    "Count again, correct the count.",
    "rf.screw_far": "Less than {turns_least} or more than {turns_most} is counted at the screw of {valve}. "
    "At {per_turn} the first moves it nowhere near what is asked, the second is more than its range. "
    "Correct the count; if it is right, see which spring is fitted.",
    "rf.screw_few": "Less than {turns_least} is counted at the screw of {valve}: at {per_turn} it does not "
    "bring {t3} up to the action. Correct the count; if it is right, see which spring is fitted.",
    "rf.screw_many": "More than {turns_most} are counted at the screw of {valve}: at {per_turn} that is "
    "more than its range. Correct the count; if it is right, see which spring is fitted.",
    "rf.closing_flow": "The flow at the closing is not that of a trickle: the stopwatch window does not "
    "hold for it.",
    "rf.watch_short": "Watched for less than {asked}. Each reading counts from when it is entered: enter "
    "them apart, or give each its time.",
    "rf.run_peak": "Run {run}: the peak passes {edge}, the highest of a test. Open {td}, lower the reducer. "
    "Find out why before the next run.",
    "rf.run_peak_low": "Run {run}: the peak lies below the reading at the action. Read both with one gauge.",
    "rf.peak_low": "The peak lies below the reading at the action. Read both with one gauge.",
    "rf.peak_high": "The peak passes {test_limit}.",
    "rf.not_inside": "A run lies further than {trip_repeat} from {trip_reading}, and inside is ticked.",
    "rf.lockup_short": "Watched for less than {asked}: no lock-up. Each reading counts from when it is "
    "entered: enter them apart, or give each its time.",
    "rf.lockup_flow": "A reading of the lock-up was taken with water running: it is none.",
    "rf.duty_still": "Hardly any water ran at a reading: it is one of the lock-up, not of the duty.",
    "rf.no_motion": "The contact was bridged, cut or moved by hand after the run: this is no alarm by "
    "true motion.",
    "rf.pump_low": "Not pumped up to {pump_least}: {iv2} is not proved at test pressure.",
    "rf.pump_lost": "{t3} fell below {pump_least} while it was watched: {iv2} is not proved at test "
    "pressure.",
    "rf.pump_level": "{t3} does not lie above {t4} at the end: nothing pressed on {iv2} from this side.",
    "rf.pump_fed": "{t4} fell while it was watched: the zone loses its feed, and a leak does not show.",
    "rf.pump_wall": "The wall warmed or cooled too far: {t3} tells of the wall, not of {iv2}.",
    "rf.found_touched": "{rv}, or what it is read by, was worked before it was read, or may have been where "
    "a clock is unsure: this is no as-found value.",
    "rf.touched_after_all": "{so} is said to be untouched, and an act on it is entered.",
    "rf.trips_after_all": "No trip is said, and an act shows one: {so} tripped or was reset.",
    "rf.pump_high": "Pumped beyond {test_limit}.",
    "rf.pump_short": "Watched for less than {asked}: a small leak does not show. Each reading counts from "
    "when it is entered: enter them apart, or give each its time.",
    "rf.due_left": "{valve} is said to be opened today, and stays closed. Correct one of the two.",
    "rf.bled_high": "Bled with {t1} above {low_inlet}: a cover bleed on pressure opens the valve.",
    "rf.flow_order": "The flows do not rise point by point and fall again: friction does not show.",
    "rf.strainer_none": "{t0} does not lie above {t1} at the highest flow. Read both with one gauge.",
    "rf.shut_off_none": "The open shut-off takes nothing at the highest flow. Read both sides with one "
    "gauge.",
}
