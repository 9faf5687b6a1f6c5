"""Which test holds which fault, by the numbers of one list."""

KILLED, STORED, HERE = "test_faults_killed.py", "test_faults_stored.py", "test_faults.py"
ONE_ANSWER, WALKS = "test_one_answer.py", "test_walks.py"
# The list is ours, after the kinds of fault that databases are tested with; no source.
FAULTS: dict[int, tuple[str, tuple[str, ...]]] = {
    1: (
        "a worker killed inside its transaction",
        (
            f"{KILLED}::test_a_worker_killed_inside_the_transaction_stores_nothing_and_the_next_try_one",
        ),
    ),
    2: (
        "the whole server killed under load; twenty times by python -m tests.bench.killed",
        (f"{KILLED}::test_a_server_killed_again_and_again_under_load_loses_and_doubles_nothing",),
    ),
    3: (
        "killed between commit and response",
        (f"{KILLED}::test_a_worker_killed_between_commit_and_response_gives_the_stored_one_back",),
    ),
    4: (
        "a response lost on the way",
        (f"{KILLED}::test_a_response_lost_on_the_way_is_given_to_the_next_try",),
    ),
    5: ("power cut", (f"{STORED}::TestPowerCut",)),
    6: (
        "the first write fails, then the second, and so on",
        (f"{STORED}::TestWriteThatFails", "../rigs/test_all_or_nothing.py::TestWriteThatFails"),
    ),
    11: (
        "sixty people in the same second; how long it takes by python -m tests.bench.load",
        (f"{KILLED}::test_sixty_people_who_answer_in_the_same_second_are_all_stored_once",),
    ),
    12: (
        "a double press and two windows",
        (
            f"{ONE_ANSWER}::test_a_double_press_is_one_answer",
            "../journeys/test_two_windows.py::test_a_double_press_and_a_second_window_are_one_answer",
            f"{WALKS}::test_every_answer_that_was_taken_is_stored_once_whatever_is_done",
        ),
    ),
    13: (
        "the same key with another answer",
        (f"{ONE_ANSWER}::test_another_answer_is_refused_and_shown_the_recorded_one",),
    ),
    14: (
        "the key of somebody else",
        (f"{HERE}::test_the_key_of_somebody_else_stores_nothing_and_stands_in_the_log",),
    ),
    15: ("a writer who holds the lock", (f"{STORED}::TestSomebodyElseWrites",)),
    18: (
        "a wrong clock, or a forged time",
        (
            f"{HERE}::test_a_forged_time_is_stored_as_unverified_and_marks_nothing",
            "../engine/test_timing.py::test_a_claim_counts_only_if_it_is_possible",
        ),
    ),
    21: (
        "the session lapses, or the account ends, amid a drill",
        (
            f"{ONE_ANSWER}::TestSignedOut",
            "../journeys/test_two_windows.py::test_an_answer_sent_signed_out_is_kept_and_sent_after_signing_in",
            f"{HERE}::test_an_account_that_ends_amid_a_drill_loses_nothing_of_before",
        ),
    ),
}
