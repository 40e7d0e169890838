"""Which test covers the cases of which safety rule.

Rule, module test_safety_* beside this one ("published" is tests/published/test_safety_limits), and
test; the publication stands beside the check. Labels, codes and loggers are tested elsewhere.

UNIT-ASK  cooking  test_160_degrees_celsius_is_asked_and_stands_when_insisted
UNIT-ASK  cooking  test_71_degrees_fahrenheit_is_asked
UNIT-ASK  cooking  test_a_freezer_at_0_degrees_is_asked_for_fahrenheit
UNIT-ASK  units  test_fahrenheit_in_a_field_of_celsius_is_asked_and_stands_when_insisted
COOK-FORM  cooking  test_ground_venison_at_160_passes_with_the_commercial_note
COOK-FORM  cooking  test_a_pork_chop_at_145_needs_its_three_minutes
COOK-FORM  cooking  test_a_chicken_thigh_at_160_is_not_saved_by_ten_minutes
COOK-FORM  cooking  test_canada_asks_more_of_game
COOK-FORM  history  test_a_history_proves_the_british_hold
COOK-MIXED  cooking  test_sausage_of_elk_and_turkey_needs_the_turkeys_target
COOK-GAME-STRICT  cooking  test_ground_venison_at_160_passes_with_the_commercial_note
COOK-GAME-STRICT  history  test_the_lower_of_two_neighbours_is_the_centre
COOK-NOREAD  cooking  test_brown_right_through_is_no_reading
COOK-NOREAD  history  test_readings_over_five_minutes_apart_are_no_neighbours
COOK-PARTIAL  cooking  test_ground_venison_at_159_stays_raw
COOK-PARTIAL  cooking  test_patties_at_55_degrees_are_finished_at_once
COOK-COLOUR  cooking  test_brown_right_through_is_no_reading
THERMO  cooking  test_a_thermometer_not_known_to_be_checked_is_reminded
COOK-TT  cooking  test_intact_beef_at_130_needs_its_112_minutes
COOK-TT  cooking  test_time_and_temperature_clears_nothing_while_it_is_off
COOL-2STAGE  cooling  test_a_pot_cooled_in_both_stages_passes
COOL-2STAGE  cooling  test_a_slow_first_stage_stops_even_when_the_end_is_early
COOL-2STAGE  cooling  test_a_fast_first_stage_leaves_longer_for_the_second
COOL-AU  published  test_the_australian_clock_starts_at_60_and_gives_four_hours_more
COOL-AMBIENT  cooling  test_rehydrated_soup_at_5_degrees_after_4_h_10_stops
COOL-AMBIENT  history  test_rehydrated_food_has_its_own_clock
COOL-UNPROVEN  cooling  test_fifty_minutes_of_drop_out_leave_cooling_unproven
COOL-UNPROVEN  cooling  test_a_clock_that_goes_back_proves_nothing
COOL-APPB  cooling  test_the_plants_guideline_is_a_note_beside_a_pass
FRIDGE-OVER  refrigerated  test_the_last_printed_day_passes_and_the_next_one_asks
HOLD-COLD  cooling  test_a_fridge_log_of_6_5_degrees_starts_the_clock
HOLD-HOT  cooling  test_chili_at_52_degrees_without_a_clock_stops
OUT-2H  cooling  test_the_two_hour_rule_adds_all_outings
OUT-2H  cooling  test_an_autumn_night_in_new_york_is_three_hours_long
OUT-2H  cooling  test_a_spring_night_in_berlin_is_one_hour_long
OUT-2H  history  test_what_follows_the_cooling_is_time_out
OUT-24  cooling  test_australia_counts_two_and_four_hours
OUT-TPHC  published  test_every_limit_is_the_printed_one
THAW-WAY  thawing_outage  test_thawing_in_the_open_stops
THAW-WAY  thawing_outage  test_cold_water_and_microwave_need_cooking_at_once
THAW-VACFISH  thawing_outage  test_vacuum_trout_is_opened_before_it_thaws
REFREEZE  thawing_outage  test_fridge_thawed_mince_may_be_frozen_again_with_a_note
REFREEZE  thawing_outage  test_water_thawed_meat_is_cooked_before_it_is_frozen_again
OUT-FREEZER  thawing_outage  test_a_full_freezer_holds_two_days_and_asks_to_look
OUT-FREEZER  thawing_outage  test_the_freezer_foods_after_three_hours_above_4_4_degrees
OUT-FREEZER  thawing_outage  test_the_freezer_foods_after_six_and_a_half_hours
OUT-FREEZER  outage_lots  test_every_kind_of_lot_in_a_failed_freezer
OUT-FRIDGE  thawing_outage  test_half_past_four_without_power
OUT-FRIDGE  thawing_outage  test_sauces_have_eight_hours_above_10_degrees
OUT-FRIDGE  outage_lots  test_every_kind_of_lot_in_a_fridge_without_power
ROP-WET  low_oxygen  test_a_water_activity_of_0_86_stops
ROP-WET  low_oxygen  test_lean_meat_of_4_percent_water_passes
ROP-WET  low_oxygen  test_fat_hides_no_water
ROP-UNKNOWN  low_oxygen  test_one_weighing_and_no_moisture_is_unknown
ROP-UNKNOWN  low_oxygen  test_a_missing_wet_end_or_a_missing_fat_is_unknown
ROP-MARGIN  low_oxygen  test_fat_hides_no_water
ROP-MARGIN  low_oxygen  test_fruit_of_0_72_for_two_years_asks_why
ROP-COMPUTED  low_oxygen  test_a_computed_range_counts_by_its_wet_end
ROP-ACID  low_oxygen  test_sour_tomato_is_still_too_wet
ROP-FAT  low_oxygen  test_walnuts_for_ten_years_are_a_question_of_taste
ROP-FAT  rules  test_a_confirm_waits_for_its_reason_and_a_stop_takes_none
ROP-FISH  low_oxygen  test_raw_salmon_in_a_vacuum_stays_frozen
ROP-FISH  rules  test_a_confirm_waits_for_its_reason_and_a_stop_takes_none
ROP-FRIDGE  low_oxygen  test_a_vacuum_adds_no_fridge_days
FRIDGE-DAYS  low_oxygen  test_a_vacuum_adds_no_fridge_days
FRIDGE-DAYS  rules  test_every_promised_rule_is_there_once
OIL-GARLIC  low_oxygen  test_garlic_under_oil_has_four_cold_days
VAC-NOT  low_oxygen  test_a_vacuum_adds_no_fridge_days
VAC-NOT  low_oxygen  test_raw_beef_in_a_shelf_vacuum_stops
CAN-NONE  low_oxygen  test_canning_is_answered_with_the_official_guide
JERKY-HEAT  drying  test_strips_steamed_to_160_then_dried_at_135_pass
JERKY-HEAT  drying  test_eight_hours_of_dry_air_at_145_stop
JERKY-HEAT  drying  test_poultry_strips_need_165
JERKY-AW  drying  test_strips_steamed_to_160_then_dried_at_135_pass
JERKY-AW  drying  test_jerky_of_0_88_is_not_for_the_shelf
JERKY-MPR  drying  test_moisture_to_protein_is_a_name_and_no_test
FD-RAW  drying  test_strips_steamed_to_160_then_dried_at_135_pass
FD-RAW  drying  test_raw_elk_from_the_freeze_dryer_is_still_raw
FD-PRODUCE  drying  test_raw_strawberries_are_washed_not_cleaned_by_drying
RAW-SEPARATE  drying  test_raw_elk_and_peas_in_one_load_make_the_peas_raw
TRICH-PORK  drying  test_farmed_pork_at_minus_15_for_20_days
CWD-HOLD  game_fish  test_a_deer_whose_test_is_awaited_is_not_mixed
CWD-HOLD  game_fish  test_a_listed_place_without_a_test_asks_for_a_reason
CWD-POS  game_fish  test_a_positive_test_stops_for_good
CWD-NEG  game_fish  test_a_negative_test_lifts_the_hold_with_a_note
GAME-SICK  game_fish  test_found_dead_is_not_eaten
TULAR  game_fish  test_a_hare_brings_its_note
TULAR  game_fish  test_species_are_whole_words
BRUC  game_fish  test_feral_hog_at_intake
LEAD  game_fish  test_ground_deer_shot_with_lead_for_a_child_asks_why
LEAD  questions  test_what_it_was_shot_with_has_three_answers
FIELD-COOL  game_fish  test_a_carcass_is_cooled_soon
GAME-LAW  game_fish  test_ducks_given_away_are_noted_and_not_stopped
TRICH-WILD  cooking  test_feral_hog_at_162_stays_raw_and_names_the_worm
TRICH-WILD  drying  test_cougar_strips_at_160_stop
FISH-PARA  game_fish  test_a_month_in_a_home_freezer_does_not_make_salmon_safe_raw
FISH-PARA  game_fish  test_exempt_fish_are_noted
FISH-HIST  game_fish  test_mackerel_three_hours_warm_is_not_saved_by_cooking
ALG-UNION  allergens  test_celery_in_the_stock_is_on_every_output
ALG-NEVER  allergens  test_an_operation_that_drops_an_allergen_stops
ALG-UNKNOWN  allergens  test_a_spice_mix_without_a_record_is_confirmed_and_printed
ALG-NONE  allergens  test_food_without_any_allergen_is_told_from_food_nobody_looked_at
ALG-CROSS  allergens  test_pears_after_walnuts_may_contain_them
ALG-SO2  allergens  test_sulphites_are_reckoned_on_the_rehydrated_food
ABS-NOEAT  packages  test_the_kind_of_packet_is_asked_and_the_right_one_passes
ABS-TYPE  packages  test_a_moisture_dependent_packet_in_dry_peas_is_confirmed
ABS-TYPE  packages  test_the_kind_of_packet_is_asked_and_the_right_one_passes
ABS-EXPOSE  packages  test_a_spent_packet_is_doubted
ABS-24H  packages  test_a_loose_pouch_next_day_proves_no_failure
ABS-UNUSED  published  test_every_limit_is_the_printed_one
JAR-VAC  packages  test_a_sealed_jar_is_not_canned
JAR-VAC  low_oxygen  test_moist_beans_in_a_vacuum_jar_stop
PACK-RAW  packages  test_a_raw_label_without_the_word_or_the_target_is_not_printed
PACK-RAW  packages  test_a_raw_label_with_both_is_printed
PACK-HANDLE  published  test_the_notes_on_every_label_say_what_they_must
REHY-RAW  packages  test_raw_meat_is_cooked_after_rehydrating
REHY-2H  packages  test_rehydrated_food_still_at_20_degrees_after_2_h_15_stops
REHY-2H  packages  test_without_a_reading_the_two_hours_are_told
REHY-REDRY  packages  test_rehydrated_food_is_not_dried_again
"""

from pathlib import Path

from app.science.safety import worn
from app.science.safety.catalogue import BY_ID

TESTS = Path(__file__).parents[1]


def test_every_rule_is_covered_by_tests_that_are_there():
    rows = [line.split() for line in (__doc__ or "").splitlines() if "  test_" in line]
    # Reminders and the words on worn food stop nothing and have tests of their own.
    gates = {rule for rule in BY_ID if not rule.startswith("CHECK-")}
    assert {rule for rule, _, _ in rows} == gates - {rule.id for rule in worn.RULES}
    for _, module, name in rows:
        path = TESTS / "science" / f"test_safety_{module}.py"
        if module == "published":
            path = TESTS / "published" / "test_safety_limits.py"
        assert f"def {name}(" in path.read_text(encoding="utf-8"), name
