"""How long a search at the rig takes, for as long as nothing is known of whoever searches."""

import math

# Seconds to locate a drug in a trolley that was laid out well: mean 5.19, standard deviation 3.34
# (Walker and others, Resuscitation 2012; 83: 1374-1380), as log-normal.
MEAN_SECONDS, SD_SECONDS = 5.19, 3.34
# Mean and standard deviation of their natural logarithm.
LOG_SPREAD = math.sqrt(math.log1p((SD_SECONDS / MEAN_SECONDS) ** 2))
LOG_SECONDS = math.log(MEAN_SECONDS) - LOG_SPREAD**2 / 2
